"""The library of build-ups: the shipped ones and the job file's own, each layer multiplied out to an amount.

Terms:
  set     a list of layers that several build-ups share.
  fill    what the "@names" in a set stand for in one build-up.
  amount  material per unit counted: thickness x kg/m2/mm, 1000 / spacing, screws or adhesive by the sheet.
  pass    one of the coats of a layer that is thicker than its material may be laid at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import ceil
from typing import Any

from takeoff.data import load
from takeoff.job import Job
from takeoff.work.fixings import adhesive_kg_per_m2, extra_screws_per_m_angle, screws_per_sheet
from takeoff.work.model import BuildUp, Layer
from takeoff.work.mortar import Mortar, wet_volume_m3
from takeoff.work.stock import Row, stock

__all__ = ["PER", "SURFACES", "library", "passes"]

SURFACES = ("wall", "ceiling", "reveal", "pier")
PER = (
    "m2",
    "m joint",
    "m perimeter",
    "m external angle",
    "m internal angle",
    "m opening angle",
    "m wall to ceiling",
    "m stop",
    "m frame",
)


@dataclass(frozen=True, slots=True)
class _Context:
    """What a layer needs to know to be multiplied out."""

    rows: Mapping[str, Row]
    board: Row | None
    job: Job


def library(job: Job) -> dict[str, BuildUp]:
    """Every build-up by slug. Raises `JobError` for a build-up of the job file that names what is not known."""
    rows = stock(job)
    shipped = load("build_ups")["build_ups"]
    found = {slug: _build_up(slug, row, rows, job) for slug, row in shipped.items() if slug not in job.build_ups}
    for slug in job.build_ups:
        found[slug] = _build_up(slug, _own(slug, rows, job), rows, job)
    _check_used(found, job)
    return found


def _check_used(found: Mapping[str, BuildUp], job: Job) -> None:
    """A material that the job file adds must be in some build-up, or nothing would ever need it."""
    used = {layer.material for build_up in found.values() for layer in build_up.layers}
    for slug in job.materials:
        if slug not in used and slug not in load("materials")["materials"]:
            right = f"a layer with material = {slug!r} in a build-up, or the name of a shipped material"
            raise job.error(("materials", slug), "no build-up uses this material", right)


def _own(slug: str, rows: Mapping[str, Row], job: Job) -> dict[str, Any]:
    """The job file's build-up in the shape of a shipped one, checked."""
    own = job.build_ups[slug]
    key = ("build_ups", slug)
    _check_known(own.surfaces, SURFACES, (*key, "surfaces"), job)
    _check_known(own.backgrounds, load("build_ups")["backgrounds"], (*key, "backgrounds"), job)
    _check_known(own.sets, _plain_sets(), (*key, "sets"), job)
    for n, layer in enumerate(own.layers):
        place: tuple[str | int, ...] = (*key, "layers", n)
        _check_known((layer.material,), rows, (*place, "material"), job)
        _check_known((layer.per,), PER, (*place, "per"), job)
        _check_known((layer.labour,) if layer.labour else (), load("labour")["tasks"], (*place, "labour"), job)
        _check_known(layer.surfaces, SURFACES, (*place, "surfaces"), job)
        _check_known(layer.backgrounds, load("build_ups")["backgrounds"], (*place, "backgrounds"), job)
        _check_amount(layer.amount, layer.thickness_mm, layer.spacing_mm, rows[layer.material], place, job)
    row = own.model_dump(exclude_none=True)
    row["layers"] = [_own_layer(layer) for layer in row["layers"]]
    row["title"] = own.title or slug
    row["backgrounds"] = own.backgrounds or tuple(load("build_ups")["backgrounds"])
    row["source"] = own.source or "set in the job file"
    return row


def _own_layer(layer: dict[str, Any]) -> dict[str, Any]:
    return {"source": "set in the job file", **{key: value for key, value in layer.items() if value}}


def _plain_sets() -> list[str]:
    """The sets that can stand in any build-up: those without "@names" to fill."""
    sets = load("build_ups")["sets"]
    plain = [name for name, s in sets.items() if not any(row["material"].startswith("@") for row in s["layers"])]
    return ["layers", *plain]


def _check_known(given: tuple[str, ...], known: Any, key: tuple[str | int, ...], job: Job) -> None:
    for name in given:
        if name not in known:
            raise job.error(key, f"{name!r} is not known", f"one of: {', '.join(known)}")


def _check_amount(
    amount: float | None, thickness: float | None, spacing: float | None, row: Row, key: tuple[str | int, ...], job: Job
) -> None:
    if sum(value is not None for value in (amount, spacing)) == 0 and thickness is None:
        raise job.error(key, "no amount", "amount, thickness_mm or spacing_mm")
    most = row.get("total_max_mm")
    if thickness is not None and most is not None and thickness > most:
        right = f"at most {most:g} mm of {row['title'].lower()} in all; beyond that line the wall with board"
        raise job.error((*key, "thickness_mm"), f"{thickness:g} mm is too thick", right)
    by_thickness = thickness is not None and amount is None and spacing is None
    if by_thickness and "kg_per_m2_mm" not in row and "thickness_mm" not in row:
        raise job.error(key, "thickness_mm alone will not do: the material has no kg_per_m2_mm", "amount as well")


def _build_up(slug: str, row: dict[str, Any], rows: Mapping[str, Row], job: Job) -> BuildUp:
    layers = tuple(
        _layer(part, _Context(rows, board, job))
        for layer, board in _layers(row, rows)
        for part in _in_passes(layer, rows)
    )
    return BuildUp(
        slug=slug,
        title=row["title"],
        surfaces=tuple(row["surfaces"]),
        backgrounds=tuple(row["backgrounds"]),
        layers=layers,
        thickness_mm=sum(v.thickness_mm for n, v in enumerate(layers) if v.per == "m2" and not _in_one(v, layers[:n])),
        limits=tuple(row.get("limits", ())),
        cautions=tuple(_caution(name) for name in row.get("cautions", ())),
        source=row.get("source", ""),
    )


def _caution(name: str) -> str:
    """The title of a warning of ``data/cautions.toml``; a job file's own words as they stand."""
    return str(load("cautions").get(name, {"title": name})["title"])


def _in_one(layer: Layer, before: tuple[Layer, ...]) -> bool:
    """Cement and sand lie in one coat: the sand adds no thickness of its own."""
    return layer.material == "sand" and any(b.material == "cement" for b in before)


def _layers(row: dict[str, Any], rows: Mapping[str, Row]) -> Iterator[tuple[dict[str, Any], Row | None]]:
    """The layers of a build-up in order with their "@names" filled, each with the build-up's board."""
    fill = row.get("fill", {})
    named = [fill.get("board", ""), *(layer["material"] for layer in row.get("layers", ()))]
    board = next((rows[slug] for slug in named if rows.get(slug, {}).get("kind") == "board"), None)
    order = list(row.get("sets", ()))
    order = order if "layers" in order else ["layers", *order]
    for name in order:
        for layer in row.get("layers", ()) if name == "layers" else load("build_ups")["sets"][name]["layers"]:
            material = layer["material"]
            yield {**layer, "material": fill[material[1:]] if material.startswith("@") else material}, board


def passes(depth_mm: float, coat_max_mm: float) -> tuple[float, ...]:
    """`depth_mm` in the fewest equal passes, none thicker than `coat_max_mm`."""
    count = max(1, ceil(depth_mm / coat_max_mm - 1e-9))
    return (depth_mm / count,) * count


def _in_passes(layer: dict[str, Any], rows: Mapping[str, Row]) -> Iterator[dict[str, Any]]:
    """The layer as it is laid: once, or in passes where its coats would be thicker than the material allows."""
    thickness, coats = layer.get("thickness_mm"), layer.get("coats", 1)
    most = rows[layer["material"]].get("coat_max_mm")
    if thickness is None or most is None or layer.get("amount") or thickness <= most * coats + 1e-9:
        yield layer
        return
    for each in passes(thickness, most):
        yield {**layer, "thickness_mm": each, "coats": 1}


def _layer(row: dict[str, Any], context: _Context) -> Layer:
    material = context.rows[row["material"]]
    amount, how, source = _amount(row, material, context)
    thickness = row.get("thickness_mm", 0.0)
    if material["kind"] == "board":
        thickness = thickness or material.get("thickness_mm", 0.0)
    return Layer(
        material=row["material"],
        per=row["per"],
        amount=amount,
        thickness_mm=thickness,
        coats=row.get("coats", 1),
        labour=row.get("labour", ""),
        how=how,
        source=row.get("source") or source,
        surfaces=tuple(row.get("surfaces", ())),
        backgrounds=tuple(row.get("backgrounds", ())),
        waste_pct=row.get("waste"),
        spacing_mm=row.get("spacing_mm", 0.0),
    )


def _amount(row: dict[str, Any], material: Row, context: _Context) -> tuple[float, str, str]:
    """Amount per unit counted, its working, and its source where the layer names none."""
    unit, per = material["unit"], row["per"]
    if "fixing" in row:
        return _screws(row["fixing"], per, context)
    if "mortar" in row:
        return _of_mortar(row["mortar"], row["thickness_mm"], material)
    if row.get("dabs"):
        return _adhesive(context)
    if row.get("amount"):
        return row["amount"], _plainly(row["amount"], unit, per), ""
    if row.get("spacing_mm"):
        spacing = row["spacing_mm"]
        return 1000.0 / spacing, f"1 / {spacing / 1000:g} m centres", ""
    if "kg_per_m2_mm" not in material:
        return 1.0, "one layer", ""
    thickness, coverage = row["thickness_mm"], material["kg_per_m2_mm"]
    how = f"{thickness:g} mm x {coverage:g} {unit}/m2/mm"
    return thickness * coverage, how, material["source"]["kg_per_m2_mm"]


def _plainly(amount: float, unit: str, per: str) -> str:
    if amount == 1.0 and unit == "m2":
        return "one layer"
    return "metre for metre" if amount == 1.0 and unit == "m" else f"{amount:g} {unit} per {per}"


def _screws(slug: str, per: str, context: _Context) -> tuple[float, str, str]:
    rule = load("build_ups")["fixings"][slug]
    if per != "m2":
        extra = extra_screws_per_m_angle(rule["field_mm"], rule["angle_mm"])
        how = f"2 boards x (1/{rule['angle_mm'] / 1000:g} - 1/{rule['field_mm'] / 1000:g}) per m"
        return extra, how, rule["source"]
    length, width = _sheet(context.board)
    framing = context.job.framing
    ceiling = rule["surfaces"] == "ceiling"
    centres = framing.ceiling_centres if ceiling else framing.wall_centres
    end = rule.get("end_mm", 0)
    screws = screws_per_sheet(length, width, centres, rule["field_mm"], across=ceiling, end_mm=end)
    area = length * width / 1e6
    ends = f", {end} at board ends" if end else ""
    spacing = f"framing at {centres}, screws at {rule['field_mm']}{ends}"
    how = f"{screws} screws to a {length:g} x {width:g} sheet ({spacing}) / {area:.2f} m2"
    return screws / area, how, rule["source"]


def _of_mortar(part: str, thickness_mm: float, material: Row) -> tuple[float, str, str]:
    """The cement or the sand of a square metre of mortar, in kg."""
    rule = load("build_ups")["mortar"]
    mix = Mortar(rule["cement_parts"], rule["sand_parts"], rule["dry_factor"])
    wet = wet_volume_m3(1.0, thickness_mm)
    volume = mix.cement_m3(wet) if part == "cement" else mix.sand_m3(wet)
    parts = f"{mix.cement_parts if part == 'cement' else mix.sand_parts:g}/{mix.cement_parts + mix.sand_parts:g}"
    how = f"{thickness_mm:g} mm x {mix.dry_factor:g} dry x {parts} x {material['kg_per_m3']:g} kg/m3"
    return volume * material["kg_per_m3"], how, rule["source"]


def _adhesive(context: _Context) -> tuple[float, str, str]:
    rule = load("build_ups")["dabs"]
    length, width = _sheet(context.board)
    amount = adhesive_kg_per_m2(_skin_mm(context.board), length, width)
    return amount, f"{amount:.2f} kg/m2 by dab rows behind {length:g} x {width:g} sheets", rule["kg_per_m2_source"]


def _skin_mm(board: Row | None) -> float:
    """Thickness of the board itself, without insulation bonded to it; the usual one where no board is known."""
    board = board or {}
    return float(board["skin_mm"] if "skin_mm" in board else board.get("thickness_mm", 12.5))


def _sheet(board: Row | None) -> tuple[float, float]:
    length, width = board["sizes_mm"][0] if board and board.get("sizes_mm") else (2400.0, 1200.0)
    return float(length), float(width)
