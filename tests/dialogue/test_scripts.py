"""Dialogue scripts: `tests/dialogue/scripts/*.script`, played on the pure core with the grammars that ship."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.stage import SCRIPTS, ScriptError, play


@pytest.mark.parametrize("path", sorted(SCRIPTS.glob("*.script")), ids=lambda p: p.stem)
def test_script(path: Path) -> None:
    """Every line of the script holds."""
    play(path)


def test_a_wrong_script_is_found_out(tmp_path: Path) -> None:
    """The player itself can fail: a line that does not hold is named."""
    script = tmp_path / "wrong.script"
    script.write_text("procedure k40-transfer-cover\nbegin Imre\nhear next\nsays something never said\n")
    with pytest.raises(ScriptError, match=r"wrong\.script:4"):
        play(script)
