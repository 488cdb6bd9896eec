"""The bad habits of draughtsmen, each with its strengths. `VICES` lists them all.

Every failure that a real drawing brings to light belongs here as a vice.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

from tests.draughtsman import clutter, habits, opening_hands
from tests.draughtsman import line_vices as lines
from tests.draughtsman import office_hands as office
from tests.draughtsman import other_hands as hands
from tests.draughtsman import overlay_hands as overlay
from tests.draughtsman.cases import Case, Vice


def sloppy_before(case: Case, x: float, rng: Random) -> Case:
    """Furniture, a breast, windows on the walls' layer."""
    case = habits.breasts(case, 1, rng)
    return replace(case, manner=replace(case.manner, furniture=int(x), thresholds=x > 1))


def sloppy(case: Case, x: float, rng: Random) -> Case:
    """Ends that miss, lines twice and in pieces, texts, dimensions, a frame; then taken apart, turned and moved."""
    case = lines.walls_only(lines.missed)(case, 2 * x, rng)
    case = lines.walls_only(lines.split)(case, 2 * x, rng)
    case = lines.walls_only(lines.doubled)(case, 0.1 * x, rng)
    for things, strength in ((clutter.texts, 5 * x), (clutter.crossing, 1), (clutter.surround, 1), (clutter.steps, 1)):
        case = clutter.adding(things)(case, strength, rng)
    if x > 1:
        case = habits.exploded(case, x, rng)
    if x > 2:
        case = habits.layers(case, 2, rng)
    return habits.far(habits.turned(case, 7.3 * x, rng), 1e5, rng)


_DOORS = ("rectangle", "double", "sliding", "folding", "pocket")

VICES: dict[str, Vice] = {v.name: v for v in (
    Vice("tidy", (0,), says="no vice at all"),
    Vice("ends missed", (2, 5, 15, 30), after=lines.walls_only(lines.missed),
         says="mm short or over, one end in three"),
    Vice("jitter", (0.5, 2, 5), after=lines.walls_only(lines.jitter), says="mm, every end in any direction"),
    Vice("split", (2, 8, 25), after=lines.walls_only(lines.split), says="up to so many cuts a line"),
    Vice("doubled", (0.2, 1.0), after=lines.walls_only(lines.doubled), says="share of lines drawn twice"),
    Vice("overlaps", (0.3, 1.0), after=lines.walls_only(lines.overlap),
         says="share of lines in two overlapping pieces"),
    Vice("lines lost", (1, 3), after=lines.walls_only(lines.lost), says="per cent of the wall lines missing"),
    Vice("two-point polylines", (1,), after=lines.walls_only(lines.two_point)),
    Vice("exploded", (1,), after=habits.exploded),
    Vice("closed without the flag", (1,), before=habits.manner(walls=lambda _x: "polylines"), after=habits.no_flag),
    Vice("arcs to splines", (1,), before=habits.blocks, after=habits.splines),
    Vice("arcs to chords", (1,), after=habits.chopped),
    Vice("layers scrambled", (1, 2, 3), after=habits.layers, says="1 random, 2 all on 0, 3 on each other's"),
    Vice("layer 0, exploded", (1,), after=lambda c, x, r: habits.layers(habits.exploded(c, x, r), 2, r)),
    Vice("unit wrong", (0, 1, 4, 6), after=habits.claims, says="what $INSUNITS claims"),
    Vice("other units", (1, 2, 5, 6), after=habits.unit, says="$INSUNITS of the unit drawn in"),
    Vice("rotated", (3, 17, 45, 90), after=habits.turned, says="degrees"),
    Vice("mirrored", (1,), after=habits.mirrored),
    Vice("extrusion down", (1,), before=habits.blocks, after=habits.down),
    Vice("far away", (1e4, 1.7e6, 1e8), after=habits.far, says="metres from the origin"),
    Vice("furniture", (2, 5), before=habits.manner(furniture=lambda x: int(x)), says="pieces a room"),
    Vice("furniture on the walls' layer", (2, 5), before=habits.heavy_furniture, says="pieces a room"),
    Vice("texts strewn in", (10, 40), after=clutter.adding(clutter.texts), says="texts a plan"),
    Vice("dimensions across rooms", (1, 2, 3), after=clutter.adding(clutter.crossing),
         says="1 whole, 2 exploded, 3 exploded on the walls' layer"),
    Vice("beams", (1,), after=clutter.adding(clutter.beams)),
    Vice("frame, grid and roof", (1,), after=clutter.adding(clutter.surround)),
    Vice("section beside", (1,), after=clutter.adding(clutter.section)),
    Vice("strays", (200, 20000), after=clutter.adding(clutter.stray), says="metres away"),
    Vice("parapet", (1,), after=clutter.adding(clutter.parapet)),
    Vice("stairs like walls", (1,), after=clutter.adding(clutter.steps)),
    Vice("free-standing walls", (1,), after=clutter.adding(clutter.stub)),
    Vice("bare gaps", (0.3, 1.0), before=habits.bare, says="share of doors without symbol"),
    Vice("door styles", (0, 1, 2, 3, 4), before=habits.manner(door=lambda x: _DOORS[int(x)]), says=", ".join(_DOORS)),
    Vice("no jambs", (1,), before=habits.manner(jambs=lambda _x: False, walls=lambda _x: "lines")),
    Vice("stretched symbols", (1,), before=habits.blocks, after=habits.stretched),
    Vice("leaf over the wall", (1,), before=habits.blocks, after=habits.leaf_over),
    Vice("window lines", (1, 2, 3, 4, 5), before=habits.manner(window_lines=lambda x: int(x)),
         says="lines along the wall"),
    Vice("no labels", (1,), before=habits.manner(labels=lambda _x: "none")),
    Vice("single-line walls", (1,), before=habits.single, kinds=("house", "skew house", "two wings", "corridor")),
    Vice("closed polylines", (1,), before=habits.manner(walls=lambda _x: "polylines")),
    Vice("solid hatch alone", (1,), before=habits.manner(walls=lambda _x: "hatch")),
    Vice("wide polylines", (1,), before=habits.manner(walls=lambda _x: "wide")),
    Vice("multilines", (1,), before=habits.manner(walls=lambda _x: "mline"), kinds=(
        "house", "two wings", "corridor", "flats", "bays", "columns", "room in a room")),
    Vice("cavity walls", (1,), before=habits.manner(cavity=lambda _x: True)),
    Vice("unbroken walls", (1,), before=habits.manner(walls=lambda _x: "unbroken")),
    Vice("windows on the walls' layer", (2, 3, 4), before=habits.windows_on_walls, says="lines along the wall"),
    Vice("labels in attributes", (1,), before=habits.manner(labels=lambda _x: "attributes")),
    Vice("door linings", (1,), before=habits.manner(door=lambda _x: "lined")),
    Vice("thresholds", (1,), before=habits.manner(thresholds=lambda _x: True)),
    Vice("hidden layers", (1, 2), before=habits.hiding, after=clutter.adding(clutter.hidden_walls),
         says="1 off, 2 frozen"),
    Vice("nested blocks", (1, 3), after=habits.nested, says="levels"),
    Vice("anonymous blocks", (1,), before=habits.blocks, after=habits.anonymous),
    Vice("removed walls", (1,), after=clutter.adding(clutter.removed_walls)),
    Vice("loose hatching", (1, 2), after=clutter.adding(clutter.loose_hatching),
         says="1 on its layer, 2 on the walls'"),
    Vice("chimney breasts", (1, 3), before=habits.breasts, says="so many"),
    Vice("walls one by one", (1, 2), before=habits.manner(walls=lambda x: "pieces" if x == 1 else "crossed"),
         kinds=("house", "skew house", "two wings", "corridor", "flats", "courtyard", "columns", "room in a room"),
         says="1 butted, 2 run over each other"),
    Vice("layered walls", (1, 2), before=habits.manner(layers=lambda x: int(x)), says="lines inside either face"),
    Vice("worktops", (1, 2), after=clutter.adding(clutter.worktops), says="1 on their layer, 2 on layer 0"),
    Vice("tiles", (1, 2), after=clutter.adding(clutter.tiles), says="1 on their layer, 2 on layer 0"),
    Vice("area outlines", (1, 2), after=clutter.adding(clutter.area_outlines),
         says="1 at the faces, 2 at wall middles"),
    Vice("label boxes", (1,), after=clutter.adding(clutter.label_boxes)),
    Vice("revision clouds", (1,), after=clutter.adding(clutter.clouds)),
    Vice("site around", (1,), after=clutter.adding(clutter.site)),
    Vice("from a solid model", (2.4,), before=habits.manner(walls=lambda _x: "lines"), after=habits.raised),
    Vice("glazed walls", (0.3, 0.8), before=habits.glazed, says="share of the outer walls"),
    Vice("wide doors", (0.5,), before=habits.garage_doors, says="share of the outer walls"),
    Vice("all at once", (1, 2, 3), before=sloppy_before, after=sloppy, says="how sloppy"),
    Vice("open plan", (2.0, 3.0), before=habits.open_plan, says="metres of gap"),
    Vice("lines lost, no labels", (1,), before=habits.manner(labels=lambda _x: "none"),
         after=lines.walls_only(lines.lost), says="per cent of the wall lines missing, and no name to tell by"),
    Vice("doors by other hands", (1, 2, 3, 4, 5), before=habits.blocks, after=hands.leaves,
         says="1 leaf alone, 2 leaf and swing half open, 3 leaf half open, 4 swing alone, 5 leaf and chord"),
    Vice("walls run through", (1, 2), after=hands.untrimmed, kinds=(
        "house", "skew house", "two wings", "corridor", "flats", "columns", "room in a room"),
         says="1 to the middle of the walls they meet, 2 to their far faces"),
    Vice("insulation drawn", (1, 2, 3), after=hands.insulated,
         says="1 on the walls' layer, 2 on the hatch's, 3 its face alone"),
    Vice("columns in walls", (1, 2), after=hands.grid_columns, says="1 on their layer, 2 filled on the walls'"),
    Vice("numbers in circles", (1,), after=hands.numbered),
    Vice("curtain walling", (0.8,), before=lambda c, x, r: habits.blocks(habits.glazed(c, x, r), x, r),
         after=hands.mullions, says="share of the outer walls"),
    Vice("one layer for all", (1, 2), before=habits.manner(furniture=lambda _x: 3, dims=lambda _x: "outside"),
         after=hands.merged, says="1 a colour for each kind of thing, 2 one colour"),
    Vice("windows by other hands", (1, 2, 3, 4, 5), after=opening_hands.windows,
         says="1 outlined, 2 cills inside and out, 3 glass blocks, 4 high up and dashed, 5 frames"),
    Vice("doors in other ways", (1, 2, 3, 4, 5, 6), after=opening_hands.doors,
         says="1 on the furniture's layer, 2 both ways, 3 pivot, 4 ajar, 5 folding in pairs, 6 in front of the wall"),
    Vice("overhead doors", (1, 2), before=lambda c, x, r: habits.blocks(habits.garage_doors(c, 0.5, r), x, r),
         after=opening_hands.overhead, says="1 dashed along both faces, 2 one dashed line and the open leaf"),
    Vice("openings labelled", (1, 2, 3, 4, 5, 6), after=opening_hands.labels,
         says="1 width, 2 in two lines, 3 with a stroke, 4 tag in a circle, 5 in a hexagon, 6 feet and inches"),
    Vice("doors in corners", (0.0, 0.03), before=opening_hands.cornered, says="metres of wall left"),
    Vice("existing and new", (1, 2, 3), before=habits.manner(walls=lambda _x: "lines"), after=office.built_and_new,
         says="layers named 1 by a code, 2 by a word, 3 by a number"),
    Vice("marks and levels", (1, 2), after=office.marks, says="1 on their layer, 2 on layer 0"),
    Vice("ceiling tiles", (1, 2), after=office.ceilings, says="1 on their layer, 2 on layer 0"),
    Vice("floors filled", (1, 2, 3), after=office.floors, says="1 a pattern, 2 a colour, 3 a colour on layer 0"),
    Vice("on the walls' layer", (1, 2, 3), after=office.on_walls, says="1 doors, 2 and windows, 3 and stairs"),
    Vice("worktops on the walls' layer", (1,), after=office.fitted),
    Vice("crossed ducts", (1,), before=office.ducts, after=office.crossed),
    Vice("sills", (1,), before=habits.blocks, after=office.sills),
    Vice("plaster drawn", (1,), after=office.plastered),
    Vice("detail beside", (1,), after=office.detail),
    Vice("low walls", (1, 2, 3), after=overlay.low_walls,
         says="1 across rooms on a layer that says so, 2 on one that says nothing, 3 stubs on the walls'"),
    Vice("balustrades", (1, 2), after=overlay.rails, says="1 on their layer, 2 on one that says nothing"),
    Vice("match lines", (1, 2), after=overlay.match_lines, says="1 on their layer, 2 on layer 0"),
    Vice("view frames", (1, 2, 3), after=overlay.view_frames,
         says="1 on their layer, 2 on layer 0, 3 on one that says nothing"),
    Vice("grid lines", (1, 2, 3), after=overlay.grids,
         says="1 on layer 0, 2 on one that says nothing, 3 the same in pairs"),
    Vice("lighting plan", (1, 2), after=overlay.lighting, says="1 on its layer, 2 on one that says nothing"),
    Vice("crossed rooms", (1, 2, 3), after=overlay.crossed_rooms,
         says="1 on a layer that says so, 2 on one that says nothing, 3 on the walls'"),
    Vice("lifts", (1,), before=overlay.lifts, after=overlay.cars),
    Vice("outlines on a silent layer", (1, 2, 3), after=overlay.outlined,
         says="1 at the faces, 2 at wall middles, 3 at the faces and into doorways"),
    Vice("floors patterned", (1, 2), after=overlay.patterned, says="1 tiles, 2 boards, on a layer that says nothing"),
    Vice("tapered walls", (0.1, 0.2), after=overlay.tapered, kinds=("house", "corridor", "columns"),
         before=habits.manner(walls=lambda _x: "lines"), says="metres from end to end"),
    Vice("faces on two layers", (1, 2), after=overlay.two_layers, before=habits.manner(walls=lambda _x: "lines"),
         kinds=("house", "skew house", "two wings", "corridor", "flats"), says="1 called so, 2 by numbers"),
    Vice("twins", (1,), before=overlay.twins, kinds=("house", "corridor", "flats")),
    Vice("layers in other tongues", (1, 2, 3, 4, 5, 6),
         before=habits.manner(furniture=lambda _x: 2, dims=lambda _x: "outside"), after=overlay.tongues,
         says="1 Swedish, 2 Russian, 3 Turkish, 4 Finnish, 5 Czech, 6 Japanese"),
    Vice("multilines capped", (1,), before=habits.manner(walls=lambda _x: "mline"), after=overlay.capped, kinds=(
        "house", "two wings", "corridor", "flats", "bays", "columns", "room in a room")),
)}
"""New ones last: the tests take their plans by the place of a row."""
