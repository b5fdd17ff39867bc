"""Fasteners, pass by pass."""

from __future__ import annotations

from bayvoice.core.turn import Turn
from bayvoice.core.wording import amount, listed
from bayvoice.procedure.model import Fasten, Step


def ask_fasten(turn: Turn, step: Step, detail: Fasten) -> None:
    """Say the pass that is to be done now, with its order."""
    done = turn.job.stage(step.id)
    passes = max(1, len(detail.stages))
    if done >= passes:
        turn.say("ask_fasten_done", name=detail.name)
        return
    order = listed(tuple(str(n) for n in detail.sequence))
    fields = {"count": detail.count, "name": detail.name, "order": order}
    if detail.undo or not detail.stages:
        turn.say("ask_undo" if detail.undo else "ask_plain", **fields)
        return
    stage = detail.stages[done]
    key = "ask_angle" if stage.unit == "deg" else "ask_torque"
    first = turn.state.wording.text("order", order=order) if done == 0 else turn.state.wording.text("same_order")
    turn.say(key, stage=done + 1, stages=passes, to=amount(stage.amount, stage.unit), order=first)


def stage_done(turn: Turn, step: Step, detail: Fasten) -> bool:
    """One pass over all fasteners is done; whether it was the last."""
    passes = max(1, len(detail.stages))
    done = turn.job.stage(step.id)
    stage = detail.stages[done] if detail.stages else None
    turn.fact(
        "stage_done", step=step.id, stage=done + 1, stages=passes, amount=f"{stage.amount:f}" if stage else "",
        unit=stage.unit if stage else "", order=list(detail.sequence), name=detail.name,
    )  # fmt: skip
    if done + 1 < passes:
        ask_fasten(turn, step, detail)
        return False
    return True
