"""Ways off the line: remedies, asides, findings, open holds."""

from __future__ import annotations

import pytest

from bayvoice.procedure.load import load_text
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.model import Check, Finding, Hold, Measure, Wait
from tests.procedure.branching import TEXT


def mistakes(text: str) -> list[str]:
    with pytest.raises(BadProcedure) as caught:
        load_text(text, "x.toml")
    return [str(each) for each in caught.value.mistakes]


def test_what_the_file_says_arrives() -> None:
    """Remedies, findings, holds that may be left open, and the line without the asides."""
    made = load_text(TEXT, "x.toml")
    assert made.steps[0].detail == Check("Is it clean?", True, "again", 2)
    assert isinstance(made.steps[1].detail, Measure)
    assert (made.steps[1].detail.remedy, made.steps[1].detail.tries) == ("cool", 3)
    assert made.steps[2].detail == Hold("it", "foreman", "end")
    assert made.findings == (Finding("cracked bracket", "bracket"), Finding("metal in the oil", "", True, ("clean",)))
    assert made.line == (0, 1, 2, 3, 4)
    assert made.aside("cool") == (6,)
    assert [made.after(i) for i in range(8)] == [1, 2, 3, 4, None, None, None, None]


def test_a_wait_at_the_end_of_an_aside_holds_back_the_step_that_sent_the_job_there() -> None:
    """After the remedy that step is asked again, so it is the next one."""
    detail = load_text(TEXT, "x.toml").steps[6].detail
    assert isinstance(detail, Wait)
    assert detail.gates == ("float",)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('remedy = "again"', 'remedy = "agian"', 'no step has aside = "agian"; perhaps "again" is meant'),
        ('remedy = "again"\n', "", 'nothing leads to the aside "again"'),
        ('remedy = "again"\n', "", "tries counts how often the remedy is tried"),
        ("stop = true\n", "", "the finding leads nowhere"),
        ('to = "bracket"', 'to = "bracket"\nstop = true', "both stops and branches"),
        ('steps = ["clean"]', 'steps = ["clan"]', 'no step has the id "clan"'),
        ('say = "metal in the oil"', 'say = "Cracked bracket"', "another finding is called"),
        ('until = "end"', 'until = "clean"', "does not come after the hold"),
        ('until = "end"', 'until = "wipe"', "does not come after the hold"),
        ('until = "end"', 'until = "ned"', 'no step has the id "ned"'),
        (
            'kind = "do"\nsay = "Wipe again."',
            'kind = "check"\nask = "So?"\nremedy = "again"\nsay = "Wipe again."',
            'the aside "again" leads back into itself',
        ),
        ('id = "more"\nkind = "do"', 'id = "more"\naside = "again"\nkind = "do"', "do not stand together"),
    ],
)
def test_each_mistake_of_a_branch(old: str, new: str, said: str) -> None:
    """A branch that is not entered, does not end or does not come back is refused."""
    assert old in TEXT
    assert any(said in each for each in mistakes(TEXT.replace(old, new, 1))), mistakes(TEXT.replace(old, new, 1))
