"""What layer names mean. Words are ordinary dictionary words; codes are held against published examples."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from takeoff.plan.layers import ROLES, layer_roles, role_of, tokens_of, within_one_edit
from tests.plan.sheets import box, sheet

WORDS = [
    ("Walls", "wall"),
    ("Innenwände 11,5", "wall"),
    ("Cloisons", "wall"),
    ("MUROS", "wall"),
    ("paredes", "wall"),
    ("Tramezzi", "wall"),
    ("Ściany nośne", "wall"),
    ("binnenmuren", "wall"),
    ("内墙", "wall"),
    ("間仕切り壁", "wall"),
    ("جدران", "wall"),
    ("Vægge", "wall"),
    ("Doors", "door"),
    ("TÜREN", "door"),
    ("TUEREN", "door"),
    ("Portes", "door"),
    ("puertas", "door"),
    ("portas", "door"),
    ("drzwi", "door"),
    ("deuren", "door"),
    ("门", "door"),
    ("Dörrar", "door"),
    ("windows_high", "window"),
    ("Fenster", "window"),
    ("fenêtres", "window"),
    ("ventanas", "window"),
    ("janelas", "window"),
    ("finestre", "window"),
    ("okna", "window"),
    ("ramen", "window"),
    ("窗", "window"),
    ("シンプルな窓", "window"),
    ("Möbel", "furniture"),
    ("mobilier", "furniture"),
    ("mobiliario", "furniture"),
    ("arredi", "furniture"),
    ("meble", "furniture"),
    ("家具", "furniture"),
    ("Stützen", "column"),
    ("Poteaux", "column"),
    ("pilares", "column"),
    ("słupy", "column"),
    ("柱", "column"),
    ("Treppe", "stairs"),
    ("escaleras", "stairs"),
    ("schody", "stairs"),
    ("楼梯", "stairs"),
    ("Bemaßung", "dimension"),
    ("COTAS", "dimension"),
    ("quote", "dimension"),
    ("wymiary", "dimension"),
    ("尺寸标注", "dimension"),
    ("Achsen", "grid"),
    ("ejes", "grid"),
    ("轴线", "grid"),
    ("Schraffur", "hatch"),
    ("hachures", "hatch"),
    ("填充", "hatch"),
    ("Textos", "text"),
    ("Beschriftung", "text"),
    ("文字", "text"),
    ("Dach", "roof"),
    ("toiture", "roof"),
    ("屋顶", "roof"),
    ("Plafond", "ceiling"),
    ("soffitto", "ceiling"),
    ("天花", "ceiling"),
    ("Garten", "outdoor"),
    ("balcón", "outdoor"),
    ("阳台", "outdoor"),
    ("vigas", "structure"),
    ("Fundamente", "structure"),
    ("梁", "structure"),
    ("Plankopf", "sheet"),
    ("cajetín", "sheet"),
    ("locali", "room outline"),
    ("pomieszczenia", "room outline"),
    ("Raumpolygone", "room outline"),
]


@pytest.mark.parametrize(("name", "role"), WORDS)
def test_words_of_many_languages(name: str, role: str) -> None:
    found = role_of(name)
    assert found.name == role
    assert found.confidence >= (0.3 if role == "room outline" else 0.6)


@pytest.mark.parametrize(
    ("name", "role", "status"),
    [
        ("A-G23-M2_Stair", "stairs", ""),  # BS 1192:2007, example printed in a guide to the standard (trade.md 6.4)
        ("A-GLAZ-SILL", "window", ""),  # US National CAD Standard: window sills (trade.md 6.6)
        ("A-WALL", "wall", ""),
        ("S-WALL-E", "wall", "existing"),
        ("A-WALL-PATT-D", "hatch", "remove"),  # same: *-WALL, status
        ("A-DOOR-IDEN", "text", ""),
        ("A-ANNO-DIMS", "dimension", ""),
        ("A-FLOR-STRS", "stairs", ""),  # same; IDEN seen, others memory
        ("A-22----E-N", "wall", "new"),
        ("A-22----T-", "text", ""),
        ("A-32----E-R", "opening", "remove"),  # ISO 13567-2 fields (trade.md 6.3), CI/SfB 22, 32 (memory)
        ("A-210 G - Existing shell", "wall", "existing"),  # CI/SfB 21 external walls (memory)
        ("house$0$A-WALL", "wall", ""),
        ("site|A-WALL", "wall", ""),  # bound and attached external references (DXF reference)
    ],
)
def test_published_codes(name: str, role: str, status: str) -> None:
    assert (role_of(name).name, role_of(name).status) == (role, status)


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("door text", "text"),
        ("WALL HATCH", "hatch"),
        ("window dims", "dimension"),
        ("stem wall", "structure"),
        ("garden wall", "outdoor"),
        ("doorswindows", "opening"),
        ("门窗", "opening"),
    ],
)
def test_the_word_that_says_how_things_are_used_speaks_first(name: str, role: str) -> None:
    assert role_of(name).name == role


@pytest.mark.parametrize(
    ("typo", "role"), [("Ceilling", "ceiling"), ("windwos", "window"), ("colunms", "column"), ("furnitre", "furniture")]
)
def test_one_slip_of_the_pen_is_forgiven(typo: str, role: str) -> None:
    assert role_of(typo).name == role
    assert role_of(typo).confidence < role_of(role).confidence


@pytest.mark.parametrize("name", ["0", "Layer1", "0-3", "8-F", "poly", "XYZ", "", "$0$", "demure", "Störmur-Nr"])
def test_names_that_say_nothing_stay_unknown(name: str) -> None:
    assert role_of(name).name == "unknown"
    assert role_of(name).confidence == 0.0


def test_low_walls_and_overhead_lines_are_marked() -> None:
    assert role_of("wall low").detail == role_of("半高隔断").detail == "low"
    assert role_of("projection overhead").detail == "overhead"
    assert role_of("walls external").detail == "external"


def test_one_role_for_each_layer_in_the_order_of_the_layers() -> None:
    drawing = sheet(lambda space: [box(space, 0, 0, 4, 3, layer) for layer in ("MUROS", "poly", "Türen")])
    roles = dict(zip((layer.name for layer in drawing.layers), layer_roles(drawing), strict=True))
    assert [roles[n].name for n in ("MUROS", "poly", "Türen")] == ["wall", "unknown", "door"]


@given(st.text(max_size=40))
@example("\N{MATHEMATICAL BOLD SCRIPT CAPITAL A}")
def test_any_name_gets_a_role(name: str) -> None:
    role = role_of(name)
    assert role.name in ROLES
    assert 0.0 <= role.confidence <= 1.0
    assert all(token == token.casefold() for token in tokens_of(name))


def edits(a: str, b: str) -> int:
    """Optimal string alignment distance, the textbook table (Damerau 1964, Levenshtein 1966)."""
    d = [[max(i, j) if min(i, j) == 0 else 0 for j in range(len(b) + 1)] for i in range(len(a) + 1)]
    for i in range(1, len(a) + 1):
        for j in range(1, len(b) + 1):
            d[i][j] = min(d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (a[i - 1] != b[j - 1]))
            if i > 1 and j > 1 and a[i - 1] == b[j - 2] and a[i - 2] == b[j - 1]:
                d[i][j] = min(d[i][j], d[i - 2][j - 2] + 1)
    return d[-1][-1]


@given(st.text("abc", max_size=6), st.text("abc", max_size=6))
def test_one_edit_is_what_the_textbook_says(a: str, b: str) -> None:
    assert within_one_edit(a, b) == (edits(a, b) <= 1)
