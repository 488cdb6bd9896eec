"""The import order of the stages: a check that can fail."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    script = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    return subprocess.run([sys.executable, "-c", script, "--no-cache"], cwd=folder, capture_output=True, text=True)


def test_a_stage_imports_only_from_the_stages_before_it() -> None:
    done = lint(ROOT)
    assert done.returncode == 0, done.stdout
    assert "1 kept, 0 broken" in done.stdout


def test_the_check_can_fail(tmp_path: Path) -> None:
    """A package of the same shape whose lower stage looks up at a higher one is refused."""
    package = tmp_path / "house"
    package.mkdir()
    for name, text in (("__init__", ""), ("cellar", "import house.attic"), ("attic", "")):
        (package / f"{name}.py").write_text(text)
    (tmp_path / "pyproject.toml").write_text(
        '[tool.importlinter]\nroot_package = "house"\n[[tool.importlinter.contracts]]\n'
        'name = "up"\ntype = "layers"\nlayers = ["house.attic", "house.cellar"]\n'
    )
    done = lint(tmp_path)
    assert done.returncode != 0
    assert "1 broken" in done.stdout
