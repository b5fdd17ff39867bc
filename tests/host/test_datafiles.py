"""Finding and reading the files of the product."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from bayvoice.errors import BayError
from bayvoice.host import datafiles
from bayvoice.procedure.mistakes import BadProcedure

ROOT = Path(__file__).parents[2]


def refusal(given: str | os.PathLike[str]) -> str:
    with pytest.raises(BadProcedure) as caught:
        datafiles.read_procedure(given)
    assert len(caught.value.mistakes) == 1
    return str(caught.value)


def test_by_name_and_by_path() -> None:
    """A procedure that ships goes by its name from anywhere; its digest is that of its file."""
    path = ROOT / "procedures" / "lift-chain.toml"
    by_name = datafiles.read_procedure("lift-chain")
    assert by_name == datafiles.read_procedure("lift-chain.toml") == datafiles.read_procedure(path)
    assert by_name.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert "lift-chain" in datafiles.procedure_names()


def test_a_file_here_comes_before_one_that_ships(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who has a file of that name in the current folder means that one."""
    mine = (ROOT / "procedures" / "lift-chain.toml").read_text(encoding="utf-8").replace("Lift chains", "My chains")
    (tmp_path / "lift-chain.toml").write_text(mine, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert datafiles.read_procedure("lift-chain.toml").title.startswith("My chains")


def test_what_is_not_there(tmp_path: Path) -> None:
    """No such name (with the nearest), no such file, a link to nowhere."""
    assert 'perhaps "lift-chain" is meant' in refusal("lift-chian")
    assert "no such file" in refusal(tmp_path / "x.toml")
    (tmp_path / "link.toml").symlink_to(tmp_path / "gone.toml")
    assert "not there" in refusal(tmp_path / "link.toml")


def test_what_is_no_file(tmp_path: Path) -> None:
    """A folder, a device, a pipe nobody writes to, names no system takes."""
    assert "folder" in refusal(tmp_path)
    assert "no plain file" in refusal("/dev/zero")
    os.mkfifo(tmp_path / "pipe")
    assert "no plain file" in refusal(tmp_path / "pipe")
    assert "cannot be read" in refusal("x" * 5000 + "/x.toml")
    assert "cannot be read" in refusal("a\0b.toml")
    assert "this is a folder" in refusal("")


def test_what_is_in_it(tmp_path: Path) -> None:
    """Empty, too long, not UTF-8 (with the line)."""
    path = tmp_path / "x.toml"
    path.write_bytes(b"")
    assert "empty" in refusal(path)
    path.write_bytes(b"x = 1\n" * 400_000)
    assert "2 MB" in refusal(path)
    path.write_bytes(b'format = 1\ntitle = "\xe9"\n')
    said = refusal(path)
    assert f"{path}:2: " in said
    assert "E9" in said


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read every file")
def test_what_may_not_be_read(tmp_path: Path) -> None:
    """A file without the right to read it."""
    path = tmp_path / "x.toml"
    path.write_text("format = 1\n", encoding="utf-8")
    path.chmod(0)
    assert "may not be read" in refusal(path)


def test_windows_line_ends_keep_the_digest(tmp_path: Path) -> None:
    """The text is kept as it is in the file, or the record would hold another one."""
    data = b"\xef\xbb\xbf" + (ROOT / "procedures" / "lift-chain.toml").read_bytes().replace(b"\n", b"\r\n")
    (tmp_path / "x.toml").write_bytes(data)
    made = datafiles.read_procedure(tmp_path / "x.toml")
    assert made.sha256 == hashlib.sha256(data).hexdigest()
    assert made.text.encode("utf-8") == data


def test_grammars() -> None:
    """English is there, with its texts as they are in the checkout; another language is refused in a sentence."""
    texts = datafiles.read_grammars("en")
    assert texts == {p.name: p.read_text(encoding="utf-8") for p in sorted((ROOT / "grammars" / "en").glob("*.gram"))}
    assert "states.gram" in texts
    for language in ("xx", "../procedures", "", "EN GB"):
        with pytest.raises(BayError, match="no grammars"):
            datafiles.read_grammars(language)


def test_the_wheel_carries_them(tmp_path: Path) -> None:
    """Built as the package index would get it: procedures and grammars are found in it, from another folder."""
    pytest.importorskip("hatchling", reason="hatchling is not installed")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    made = subprocess.run(build, cwd=ROOT, capture_output=True, text=True, check=False)
    assert made.returncode == 0, made.stderr
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path / "site")
    ask = (
        "from bayvoice.host import datafiles as d; import bayvoice; print(bayvoice.__file__); "
        "print(len(d.read_procedure('k40-transfer-cover').steps)); print(*d.procedure_names()); "
        "print(*d.read_grammars())"
    )
    env = {**os.environ, "PYTHONPATH": str(tmp_path / "site")}
    run = subprocess.run([sys.executable, "-c", ask], cwd=tmp_path, env=env, capture_output=True, text=True, check=True)
    where, steps, names, grammars = run.stdout.splitlines()
    assert where.startswith(str(tmp_path))
    assert int(steps) >= 25
    assert tuple(names.split()) == datafiles.procedure_names()
    assert tuple(grammars.split()) == tuple(datafiles.read_grammars())
