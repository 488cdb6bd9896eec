"""docs/build-ups.md and docs/materials.md say what the shipped data says."""

from __future__ import annotations

import re
import tomllib

import pytest

from takeoff.data import load
from takeoff.job import job_from
from takeoff.materials.catalogue import catalogue
from takeoff.work.library import library
from tests.work.doc_tables import _MARKED, DOCS, PAGES, TABLES, renewed

AGAIN = "python -m tests.work.doc_tables makes the tables anew"


@pytest.mark.parametrize("page", PAGES)
def test_tables_are_in_step(page: str) -> None:
    text = (DOCS / page).read_text(encoding="utf-8")
    assert renewed(text) == text, AGAIN


def test_every_table_stands_in_a_page() -> None:
    shown = [match[2] for page in PAGES for match in _MARKED.finditer((DOCS / page).read_text(encoding="utf-8"))]
    assert sorted(shown) == sorted(TABLES)


def test_every_build_up_and_material_is_named() -> None:
    text = "".join((DOCS / page).read_text(encoding="utf-8") for page in PAGES)
    for slug in (*load("build_ups")["build_ups"], *load("materials")["materials"], *load("cautions")):
        assert slug in text


@pytest.mark.parametrize("page", PAGES)
def test_the_examples_are_job_files(page: str) -> None:
    """Every TOML example of the pages is a job file that the library and the catalogue take."""
    text = (DOCS / page).read_text(encoding="utf-8")
    for example in re.findall(r"```toml\n(.*?)```", text, re.DOTALL):
        job = job_from(tomllib.loads(example))
        assert library(job) and catalogue(job)
