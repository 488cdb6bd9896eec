"""The tables of docs/build-ups.md and docs/materials.md, made from the shipped data.

    python -m tests.work.doc_tables        writes them anew; a test fails while they are out of step.

What stands in the pages between ``<!-- table: NAME -->`` and ``<!-- end -->`` is made here, the rest by hand.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from takeoff.data import load
from takeoff.files import write_whole
from takeoff.job import Job
from takeoff.materials.catalogue import catalogue
from takeoff.work.library import library
from takeoff.work.model import BuildUp, Layer

DOCS = Path(__file__).parents[2] / "docs"
PAGES = ("build-ups.md", "materials.md")
_MARKED = re.compile(r"(<!-- table: ([\w ]+) -->\n).*?(<!-- end -->)", re.DOTALL)

Row = Iterable[object]


def _table(head: Row, rows: Iterable[Row]) -> str:
    lines = [head, ["---"] * len(list(head)), *rows]
    return "".join("| " + " | ".join(str(cell).replace("|", "/") for cell in line) + " |\n" for line in lines)


def _backgrounds() -> str:
    rows = load("build_ups")["backgrounds"]
    cells = ([f"`{name}`", r["title"], f"`{r['wall']}`", f"`{r['ceiling']}`"] for name, r in rows.items())
    return _table(["Background", "What it is", "Proposed for walls", "For ceilings"], cells)


def _build_ups() -> str:
    return "\n".join(_build_up(b) for b in library(Job()).values())


def _build_up(b: BuildUp) -> str:
    facts = [
        f"On {', '.join(b.backgrounds)}; for {', '.join(b.surfaces)}; {b.thickness_mm:g} mm.",
        f"Layers: {', '.join(_once(_brief(layer) for layer in b.layers))}.",
        f"Limits: {' '.join(b.limits)}",
        f"Warnings: {'; '.join(b.cautions)}.",
        f"Source: {b.source}.",
    ]
    return f"**{b.slug}**: {b.title}.\n\n" + "\n".join(f"- {fact}" for fact in facts) + "\n"


def _brief(v: Layer) -> str:
    coats = f" in {v.coats} coats" if v.coats > 1 else ""
    thick = f" {v.thickness_mm:g} mm" if v.thickness_mm and v.how != "one layer" else ""
    return f"{v.material}{thick}{coats}"


def _layers() -> str:
    head = ["Material", "Per", "Amount", "Working", "Labour", "Source"]
    return _table(head, [row.split("|") for row in _once("|".join(_layer(v)) for v in _every_layer())])


def _every_layer() -> list[Layer]:
    order = {slug: n for n, slug in enumerate(catalogue(Job()))}
    layers = [layer for b in library(Job()).values() for layer in b.layers]
    return sorted(layers, key=lambda layer: order[layer.material])


def _layer(v: Layer) -> list[str]:
    where = " and ".join(", ".join(names) for names in (v.surfaces, v.backgrounds) if names)
    per = f"{v.per} ({where})" if where else v.per
    coats = f", {v.coats} coats" if v.coats > 1 else ""
    labour = f"`{v.labour}`" if v.labour else ""
    return [f"`{v.material}`", per, f"{v.amount:.3g}", v.how + coats, labour, v.source]


def _sets() -> str:
    lines = [f"- `{name}`: {', '.join(_once(row['material'] for row in s['layers']))}" for name, s in _all_sets()]
    return "\n".join(lines) + "\n"


def _all_sets() -> Iterator[tuple[str, dict[str, list[dict[str, str]]]]]:
    yield from load("build_ups")["sets"].items()


def _once(names: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(names))


def _cautions() -> str:
    rows = load("cautions").items()
    return _table(
        ["Name", "Title", "Shown when", "Source"], ([f"`{k}`", r["title"], _when(r), r["source"]] for k, r in rows)
    )


def _when(row: dict[str, list[str]]) -> str:
    unless = f"; not when {', '.join(row['unless'])}" if "unless" in row else ""
    return ", ".join(row["when"]) + unless


def _materials() -> str:
    head = ["Material", "What it is", "Kind", "Pack", "kg a pack", "kg/m2/mm", "Waste %", "Water l", "Keeps, days"]
    cells = (
        [
            f"`{m.slug}`",
            m.title,
            m.kind,
            m.pack,
            f"{m.pack_kg:.3g}",
            m.kg_per_m2_mm or "",
            f"{m.waste_pct:g}",
            m.water_l_per_pack or "",
            m.shelf_life_days or "",
        ]
        for m in catalogue(Job()).values()
    )
    return _table(head, cells)


def _sources() -> str:
    lines = []
    for m in catalogue(Job()).values():
        lines += [f"- `{m.slug}`: " + "; ".join(f"{key}: {says}" for key, says in m.sources if key != "waste")]
    return "\n".join(lines) + "\n"


def _waste() -> str:
    head = ["Kind", "Cutting", "Mixing", "Droppings", "Together %", "Source"]
    causes = ("cutting", "mixing", "droppings")
    cells = (
        [k, *(r.get(c, "") for c in causes), sum(r.get(c, 0) for c in causes), r["source"]]
        for k, r in load("materials")["waste"].items()
    )
    return _table(head, cells)


def _debris() -> str:
    rows = load("materials")["debris"].items()
    cells = ([k, r["kg_per_m3"], "yes" if r["keeps"] else "no", r["source"]] for k, r in rows)
    return _table(["Kind", "kg/m3 loose", "An opened pack keeps", "Source"], cells)


TABLES: dict[str, Callable[[], str]] = {
    "backgrounds": _backgrounds,
    "build ups": _build_ups,
    "layers": _layers,
    "sets": _sets,
    "cautions": _cautions,
    "materials": _materials,
    "sources": _sources,
    "waste": _waste,
    "debris": _debris,
}


def renewed(page: str) -> str:
    """The text of a page with its tables made anew."""
    return _MARKED.sub(lambda m: f"{m[1]}\n{TABLES[m[2]]()}\n{m[3]}", page)


if __name__ == "__main__":
    for name in PAGES:
        write_whole(DOCS / name, renewed((DOCS / name).read_text(encoding="utf-8")))
