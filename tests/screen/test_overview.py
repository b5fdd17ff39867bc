"""The foreman's look at every job: live, read-only, and down to the report of one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from textual.pilot import Pilot

from bayvoice.job.facts import Fact
from bayvoice.record.sqlite.store import Store
from bayvoice.report.render.look import JobsLook
from bayvoice.screen.overview import Overview
from bayvoice.screen.shades import THEMES
from tests.screen.looks import contrast, pairs, text
from tests.screen.walk import Walk


class Kept(Walk):
    """A walk whose facts go into a record as job `name`."""

    def __init__(self, store: Store, name: str, procedure: str, by: str) -> None:
        self._record = store
        super().__init__(procedure, name, by)

    def keep(self, fact: Fact) -> None:
        """Write it down."""
        self._record.append(self.state.job.name, fact)


@pytest.fixture
def jobs(tmp_path: Path) -> Iterator[tuple[JobsLook, Kept, Kept]]:
    """Two jobs under way in one record, and a look at it whose clock is that of the jobs."""
    path = tmp_path / "bay.sqlite"
    with Store(path) as writing, Store(path) as also:
        cover = Kept(writing, "K40-0117", "k40-transfer-cover", "Imre")
        chain = Kept(also, "H25-0040", "lift-chain", "Kofi")
        with Store(path, read_only=True) as reading:
            yield JobsLook(reading, lambda: cover.at.wall), cover, chain


async def settled(pilot: Pilot[None]) -> None:
    for _ in range(3):
        await pilot.pause()


def screen(look: JobsLook, theme: str = "dark") -> Overview:
    return Overview(look, look.report, look.write_page, theme=theme)


def test_every_job_has_a_card(jobs: tuple[JobsLook, Kept, Kept]) -> None:
    look, cover, chain = jobs
    cards = {card.name: card for card in look()}
    assert cards["K40-0117"].place == f"STEP 1 OF {len(cover.procedure.steps)}"
    assert cards["H25-0040"].by == "Kofi"
    assert cards["H25-0040"].step == chain.procedure.steps[0].say


def test_a_job_is_read_again_only_when_it_has_a_new_fact(
    jobs: tuple[JobsLook, Kept, Kept], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A look a second at a year of jobs must cost next to nothing."""
    look, cover, _ = jobs
    look()
    read: list[str] = []
    facts = Store.facts

    def counted(self: Store, job: str, badges: bool = False) -> list[Fact]:
        read.append(job)
        return facts(self, job, badges)

    monkeypatch.setattr(Store, "facts", counted)
    look()
    assert read == []
    cover.type("pause")
    look()
    assert read == ["K40-0117"]


def test_what_is_not_in_order_is_flagged(jobs: tuple[JobsLook, Kept, Kept]) -> None:
    look, _, chain = jobs
    chain.type("no")
    card = next(card for card in look() if card.name == "H25-0040")
    assert any("Are both chains slack" in flag for flag in card.flags), card.flags


async def test_a_change_in_the_record_is_seen_within_two_looks(jobs: tuple[JobsLook, Kept, Kept]) -> None:
    look, cover, _ = jobs
    app = screen(look)
    async with app.run_test(size=(100, 30)) as pilot:
        await settled(pilot)
        assert "K40-0117 STEP 1 OF" in text(app)
        assert "2 jobs, 2 open" in text(app)
        cover.type("yes", "next")
        app.refresh_cards()
        await settled(pilot)
        assert "K40-0117 STEP 2 OF" in text(app)


async def test_the_report_is_opened_and_closed_by_keys(
    jobs: tuple[JobsLook, Kept, Kept], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    look = jobs[0]
    monkeypatch.chdir(tmp_path)
    app = screen(look)
    async with app.run_test(size=(100, 30)) as pilot:
        await settled(pilot)
        chosen, other = (card.name for card in look())
        head = " ".join(look.report(chosen).split("\n\n")[0].split())
        assert head
        await pilot.press("enter")
        await settled(pilot)
        assert head in text(app)
        assert other not in text(app)
        assert not app.query_one("#jobs").display
        await pilot.press("end")
        await settled(pilot)
        foot = next(line for line in reversed(look.report(chosen).splitlines()) if line.strip())
        assert " ".join(foot.split()) in text(app), "not scrolled to the end of the report"
        await pilot.press("escape")
        await settled(pilot)
        assert app.query_one("#jobs").display
        await pilot.press("p")
        await settled(pilot)
        assert (tmp_path / f"{chosen}.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
        assert f"Written: {chosen}.html" in text(app)


@pytest.mark.parametrize("theme", THEMES)
async def test_the_contrast_is_that_of_the_bay_screen(jobs: tuple[JobsLook, Kept, Kept], theme: str) -> None:
    """WCAG 2 success criterion 1.4.6: at least 7:1."""
    look, _, chain = jobs
    chain.type("no")
    app = screen(look, theme)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        found = list(pairs(app))
        await pilot.press("enter")
        await settled(pilot)
        found += pairs(app)
    assert len(found) > 20
    for shown, ink, ground in found:
        assert contrast(ink, ground) >= 7.0, f"{shown!r}: {ink.hex} on {ground.hex}"


async def test_an_empty_record_says_so(tmp_path: Path) -> None:
    with Store(tmp_path / "bay.sqlite"), Store(tmp_path / "bay.sqlite", read_only=True) as store:
        app = screen(JobsLook(store))
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            assert "No jobs in this record." in text(app)
            await pilot.press("enter", "p")
