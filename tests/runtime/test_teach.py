"""`soundcheck --teach` as a stranger uses it, on synthesised people, through the command line and in a job."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from bayvoice.ears import person
from bayvoice.ears.person_learn import Take
from bayvoice.ears.pronounce import PHONES
from bayvoice.errors import BayError
from bayvoice.runtime import teaching
from bayvoice.runtime.teaching import KEPT_BACK, PROMPTS
from tests.bay import MIC, virtual_bay
from tests.espeak import say
from tests.runtime.command import bayvoice

PAUSE = np.zeros(12_000, np.float32)
ACCENT = {"three": "sree", "seven": "saban", "four": "poor", "five": "pipe", "zero": "cero", "next": "nest"}
"""Spelt so that espeak-ng says s for th, b for v, p for f: sounds that many languages lack."""


def recording(
    path: Path, prompts: tuple[str, ...], accent: dict[str, str] | None = None, only_taught: bool = False
) -> Path:
    """The prompts said one after the other, at paces that differ, with a little hiss; with `accent` in all of them, or
    only in those that are learned from."""
    said = []
    for n, text in enumerate(prompts):
        if accent and not (only_taught and n % KEPT_BACK == KEPT_BACK - 1):
            text = accent.get(text, text)
        said.append(np.concatenate([say(text, words_per_minute=115 + 17 * n % 60), PAUSE]))
    sound = np.concatenate(said)
    hiss = np.random.default_rng(1).standard_normal(len(sound)) * 1e-3
    soundfile.write(path, sound + hiss, 16_000)
    return path


def test_every_phrase_is_kept_back_once() -> None:
    """And learned from twice; at 2.3 s a take it is about two minutes (common practice, no source)."""
    back = PROMPTS[KEPT_BACK - 1 :: KEPT_BACK]
    assert sorted(back) == sorted(set(PROMPTS))
    assert 100 <= 2.3 * len(PROMPTS) <= 140


def teach(folder: Path, accent: dict[str, str], only_taught: bool) -> dict[str, Any]:
    """The answer after Kofi was taught from a recording, with `folder` as the data directory."""
    sound = recording(folder / "kofi.wav", PROMPTS, accent, only_taught)
    done = bayvoice("soundcheck", "--teach", "Kofi", "--mic", sound, "--json", data=folder, within_s=600)
    assert done.returncode == 0, done.stderr
    answer: dict[str, Any] = json.loads(done.stdout)
    assert answer["before"]["takes"] == answer["after"]["takes"] == 2 * len(set(PROMPTS))
    return answer


def kept_in(folder: Path) -> list[str]:
    """Files with what was learned of anybody."""
    return [str(path) for path in (folder / "bayvoice" / "people").glob("*")]


def test_who_says_sounds_otherwise_is_helped_and_can_be_forgotten(tmp_path: Path) -> None:
    """More is understood, nothing more mistaken, the odds are nearer the truth; a small file is kept and no sound.
    Forgotten once; the second time there is nothing to forget."""
    answer = teach(tmp_path, ACCENT, only_taught=False)
    before, after = answer["before"], answer["after"]
    assert answer["helps"], (before, after)
    assert after["right"] > before["right"]
    assert after["wrong"] + after["acted"] <= before["wrong"] + before["acted"]
    assert after["loss"] < before["loss"]
    assert kept_in(tmp_path) == [answer["kept"]]
    assert 0 < Path(answer["kept"]).stat().st_size < 50_000
    first = bayvoice("soundcheck", "--forget", "kofi", data=tmp_path)
    assert first.returncode == 0, first.stderr
    assert kept_in(tmp_path) == []
    again = bayvoice("soundcheck", "--forget", "kofi", "--json", data=tmp_path)
    assert again.returncode == 2
    assert json.loads(again.stdout)["error"]["what"] == "nothing is kept of this person"


def test_what_does_not_hold_for_the_takes_kept_back_is_not_kept(tmp_path: Path) -> None:
    """Taught is an accent with yes and no exchanged, spoken is neither: what was learned would do harm."""
    answer = teach(tmp_path, ACCENT | {"yes": "no", "no": "yes"}, only_taught=True)
    assert (answer["helps"], answer["kept"]) == (False, None), (answer["before"], answer["after"])
    assert kept_in(tmp_path) == []


def test_the_prompts_are_printed() -> None:
    """In their order, as text and as JSON."""
    plain = bayvoice("soundcheck", "--teach", "Imre", "--prompts")
    assert plain.stdout.split("\n")[:-1] == list(PROMPTS)
    assert json.loads(bayvoice("soundcheck", "--teach", "Imre", "--prompts", "--json").stdout)["prompts"] == [*PROMPTS]


def test_what_cannot_be_taught_from_is_refused_in_one_sentence(tmp_path: Path) -> None:
    """Too few takes, no recording, no name; nothing is kept."""
    few = recording(tmp_path / "few.wav", PROMPTS[:3])
    for args, told in (
        (("--teach", "Imre", "--mic", few), "holds 3 takes and there are 57 prompts"),
        (("--teach", "Imre", "--mic", tmp_path / "none.wav"), "cannot be read"),
        (("--teach", "//", "--mic", few), "not a person's name"),
        (("--forget", ""), "not a person's name"),
        (("--teach", "Imre", "--forget", "Imre"), "not allowed with"),
    ):
        done = bayvoice("soundcheck", *args, data=tmp_path)
        assert done.returncode == 2
        assert told in done.stderr
        assert "Traceback" not in done.stderr
        assert len(done.stderr.strip().splitlines()) == 1
    assert not (tmp_path / "bayvoice" / "people").exists()


def test_takes_of_other_words_teach_nothing() -> None:
    """Whoever read the prompts in another order is told so, and no habit of speech is made of it."""
    takes = [Take((word,), say(other)) for word, other in zip(["yes", "no", "stop"] * 3, ["nine"] * 9, strict=True)]
    with pytest.raises(BayError, match="sound like what was asked for"):
        teaching.learn("Imre", takes)


@pytest.mark.parametrize("stale", [False, True])
def test_a_job_uses_what_is_kept_and_says_what_it_cannot_use(tmp_path: Path, stale: bool) -> None:
    """Kept here is that this person says "lemonade" for help: with it, the job explains itself."""
    folder = tmp_path / "bayvoice" / "people"
    folder.mkdir(parents=True)
    body = {
        "format": person.FORMAT,
        "name": "Imre",
        "fingerprint": "0" if stale else person.fingerprint(),
        "bias": 0.0,
        "phones": list(PHONES),
        "said": {"help": ["L EH M AH N EY D"]},
        "mixing": {},
        "told": "",
    }
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_DATA_HOME", str(tmp_path))
        (folder / person.path_of("Imre").name).write_text(json.dumps(body), "utf-8")
    sound = np.concatenate([np.zeros(16_000 * 60, np.float32), say("lemonade"), np.zeros(16_000 * 2, np.float32)])
    soundfile.write(tmp_path / "job.wav", sound, 16_000)
    done = bayvoice(
        "work",
        "k40-transfer-cover",
        "--by",
        "Imre",
        "--mic",
        tmp_path / "job.wav",
        "--speaker",
        "off",
        "--screen",
        "off",
        "--ears",
        "phones",
        "--store",
        tmp_path / "bay.sqlite",
        "--json",
        data=tmp_path,
    )
    assert done.returncode == 0, done.stderr
    assert ("another version of the ears" in done.stdout + done.stderr) is stale
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    understood = [line["words"] for line in lines if line.get("intent") == "help"]
    assert understood == ([] if stale else ["help"]), lines


@pytest.mark.audio_server
def test_a_prompt_is_said_and_asked_again_until_it_is_answered(tmp_path: Path) -> None:
    """Two prompts in a live bay: the first is answered at once, the second when it is asked again."""
    code = (
        "import json; from bayvoice.runtime import teaching as t; t.PROMPTS = ('next', 'seven'); t._FEWEST = 2\n"
        "found = t.live_takes(lambda line: print(line, flush=True))\n"
        "print(json.dumps([[' '.join(take.words), len(take.sound) / 16000] for take in found]))\n"
    )
    with virtual_bay(tmp_path / "bay") as env:
        child = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, env=env)
        assert child.stdout is not None
        try:
            lines = []
            for answer in ("next", "", "seven"):
                lines.append(child.stdout.readline().strip())
                if answer:
                    time.sleep(3.0)  # the prompt is being said
                    soundfile.write(tmp_path / "said.wav", say(answer), 16_000)
                    subprocess.run(["paplay", f"--device={MIC}", str(tmp_path / "said.wav")], env=env, check=True)
            rest, _ = child.communicate(timeout=30)
        finally:
            child.kill()
    assert lines == ["1/2  say: next", "2/2  say: seven", "2/2  say: seven"]
    takes = json.loads(rest)
    assert [words for words, _ in takes] == ["next", "seven"]
    assert all(0.3 < seconds < 2.5 for _, seconds in takes)
