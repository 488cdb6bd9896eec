"""The development file (TOML): house types, options and plots of a site, validated, with file, line and key in errors.

Every key is described in ``docs/development-file.md``; a test fails when one is missing there.

Terms:
  type      a house drawn once, with the settings of its job file.
  option    a change of settings that some plots have.
  plot      one house to be built: its type, handed (mirrored) or not, its options, its stage and delivery.
  variant   a type with a set of options: what is taken off once, however many plots are of it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError

from takeoff.errors import JobError
from takeoff.job import Job, Overlay, faults_told, job_laid_over, key_error, read_job
from takeoff.job_tables import Table

__all__ = [
    "Development",
    "DevelopmentFile",
    "OptionRow",
    "PlotRow",
    "SiteTable",
    "TypeRow",
    "Variant",
    "read_development",
]

ORDERED = ("materials", "waste", "order", "boards", "beads", "mixing", "price", "gang", "risk")
"""Tables of settings that the order and the price of a delivery hang on, where plots of several types come together."""


class SiteTable(Table):
    """[development]: what stands on the documents."""

    name: str = ""
    reference: str = ""
    site: str = ""
    date: str = ""
    prepared_for: str = ""
    prepared_by: str = ""


class TypeRow(Table):
    """[types.NAME]: a house type."""

    drawing: str
    """Path from the development file."""
    title: str = ""
    job: str | None = None
    """Path of a job file; its [job] and its [drawing] file are not used."""
    settings: dict[str, Any] = {}
    """Tables of a job file, for this type."""


class OptionRow(Table):
    """[options.NAME]: changed settings of the plots that have it."""

    title: str = ""
    types: tuple[str, ...] = ()
    """Types it is for; empty: any."""
    settings: dict[str, Any] = Field(min_length=1)


class PlotRow(Table):
    """[[plots]]: one plot."""

    plot: str = Field(min_length=1)
    type: str
    handed: bool = False
    options: tuple[str, ...] = ()
    stage: str = ""
    delivery: str = ""
    """Plots of one delivery are ordered together; its stage if unset."""
    address: str = ""

    @property
    def comes_with(self) -> str:
        """Name of its delivery."""
        return self.delivery or self.stage or "whole site"


class DevelopmentFile(Table):
    """A whole development file."""

    development: SiteTable = SiteTable()
    settings: dict[str, Any] = {}
    """Tables of a job file, for the whole site: they stand over the types' job files."""
    types: dict[str, TypeRow] = Field(min_length=1)
    options: dict[str, OptionRow] = {}
    plots: tuple[PlotRow, ...] = Field(min_length=1)


@dataclass(frozen=True, slots=True)
class Variant:
    type: str
    options: tuple[str, ...] = ()
    """In the order of the file, whatever the plot's."""

    @property
    def name(self) -> str:
        """For people and folders: 'Ash', 'Ash + tall'."""
        return " + ".join((self.type, *self.options))


@dataclass(frozen=True)
class Development:
    """A development file whose parts are known to fit together."""

    file: DevelopmentFile
    path: Path
    text: str

    def variant_of(self, plot: PlotRow) -> Variant:
        return Variant(plot.type, tuple(name for name in self.file.options if name in plot.options))

    @property
    def variants(self) -> tuple[Variant, ...]:
        """In the order of the plots, each once."""
        return tuple(dict.fromkeys(self.variant_of(plot) for plot in self.file.plots))

    @property
    def deliveries(self) -> dict[str, tuple[PlotRow, ...]]:
        """The plots of each delivery, in the order of the file."""
        grouped: dict[str, tuple[PlotRow, ...]] = {}
        for plot in self.file.plots:
            grouped[plot.comes_with] = (*grouped.get(plot.comes_with, ()), plot)
        return grouped

    def drawing_of(self, variant: Variant) -> Path:
        return self.path.parent / self.file.types[variant.type].drawing

    def job_of(self, variant: Variant) -> Job:
        """The settings of a variant: the type's job file, over it the site's settings, the type's, each option's.

        Raises `JobError` that names the file and line of the key that is wrong.
        """
        row = self.file.types[variant.type]
        base = read_job(self.path.parent / row.job) if row.job else Job()
        over = [self._overlay(("settings",), self.file.settings)]
        over.append(self._overlay(("types", variant.type, "settings"), row.settings))
        over += [
            self._overlay(("options", name, "settings"), self.file.options[name].settings) for name in variant.options
        ]
        site = self.file.development
        told = {"name": f"{site.name} {variant.name}".strip(), "reference": site.reference, "site": site.site}
        told |= {"date": site.date, "prepared_for": site.prepared_for, "prepared_by": site.prepared_by}
        over.append(Overlay(str(self.path), self.text, ("development",), {"job": told}))
        return job_laid_over(base, over)

    def order_job(self, jobs: Mapping[Variant, Job]) -> Job:
        """The settings that a delivery is ordered by: those of all variants together.

        Raises `JobError` where two variants differ in one, since one order cannot follow both.
        """
        merged: dict[str, Any] = {}
        first: dict[tuple[str, ...], str] = {}
        for variant, job in jobs.items():
            data = job.model_dump(exclude_unset=True, include=set(ORDERED))
            for key, value in _leaves(data):
                before = _at(merged, key)
                if before is not None and before != value:
                    raise key_error(
                        str(self.path), self.text, ("settings", *key),
                        f"{first[key]} has {before!r} and {variant.name} has {value!r}, and both are ordered as one",
                        "one value for the whole site, in [settings] alone",
                    )  # fmt: skip
                first.setdefault(key, variant.name)
                _put(merged, key, value)
        merged["order"] = {**merged.get("order", {}), "by": "job"}
        return Job.model_validate(merged)

    def _overlay(self, place: tuple[str, ...], data: dict[str, Any]) -> Overlay:
        return Overlay(str(self.path), self.text, place, data)

    def error(self, key: tuple[str | int, ...], wrong: str, right: str) -> JobError:
        return key_error(str(self.path), self.text, key, wrong, right)


def read_development(path: Path) -> Development:
    """The development file at `path`. Raises `JobError` for the first things wrong, each with its line."""
    try:
        text = path.read_text(encoding="utf-8")
        data = tomllib.loads(text)
        file = DevelopmentFile.model_validate(data)
    except OSError as fault:
        raise JobError(f"Cannot read {path}: {fault.strerror}. Check its name and folder.") from fault
    except UnicodeDecodeError:
        raise JobError(f"{path}: not a text file in UTF-8. Save it as plain text.") from None
    except tomllib.TOMLDecodeError as fault:
        raise JobError(f"{path}: {fault}. Mend that line: a development file is TOML, key = value.") from None
    except ValidationError as faults:
        raise faults_told(faults, str(path), text, keys_beside) from None
    development = Development(file, path, text)
    _check(development)
    return development


def _check(development: Development) -> None:
    """Names that stand for something, each plot once, files that are there. Raises `JobError`."""
    file, error = development.file, development.error
    for name, row in file.types.items():
        for key, named in (("drawing", row.drawing), ("job", row.job)):
            if named and not (development.path.parent / named).is_file():
                raise error(
                    ("types", name, key), f"there is no file {named}", "a path from the development file's folder"
                )
    for name, option in file.options.items():
        for unknown in set(option.types) - set(file.types):
            raise error(("options", name, "types"), f"no type is called {unknown!r}", _one_of(file.types))
    seen: set[str] = set()
    for number, plot in enumerate(file.plots):
        if plot.plot in seen:
            raise error(("plots", number, "plot"), f"plot {plot.plot!r} is there already", "each plot once")
        seen.add(plot.plot)
        if plot.type not in file.types:
            raise error(("plots", number, "type"), f"no type is called {plot.type!r}", _one_of(file.types))
        for option_name in plot.options:
            own = file.options.get(option_name)
            if own is None:
                raise error(("plots", number, "options"), f"no option is called {option_name!r}", _one_of(file.options))
            if own.types and plot.type not in own.types:
                raise error(
                    ("plots", number, "options"),
                    f"option {option_name!r} is not for type {plot.type!r}",
                    _one_of(own.types),
                )


def _one_of(names: Any) -> str:
    return f"one of: {', '.join(names)}" if names else "none, until [options.NAME] tables are there"


def keys_beside(table: tuple[str, ...]) -> list[str]:
    """The keys that the table named by `table` may hold."""
    tables: dict[str, type[Table]] = {
        "development": SiteTable, "types": TypeRow, "options": OptionRow, "plots": PlotRow,
    }  # fmt: skip
    model = tables.get(table[0]) if table else DevelopmentFile
    return sorted(model.model_fields) if model else []


def _leaves(data: Mapping[str, Any], at: tuple[str, ...] = ()) -> list[tuple[tuple[str, ...], Any]]:
    """Every value of nested tables with its key; an array is one value."""
    found: list[tuple[tuple[str, ...], Any]] = []
    for name, value in data.items():
        found += _leaves(value, (*at, name)) if isinstance(value, dict) else [((*at, name), value)]
    return found


def _at(data: Mapping[str, Any], key: tuple[str, ...]) -> Any:
    for name in key:
        if name not in data:
            return None
        data = data[name]
    return data


def _put(data: dict[str, Any], key: tuple[str, ...], value: Any) -> None:
    for name in key[:-1]:
        data = data.setdefault(name, {})
    data[key[-1]] = value
