"""Subjects of fastening: torque, adapter, preload, order, angle."""

from __future__ import annotations

import argparse
import re
from decimal import Decimal

from bayvoice.errors import BayError
from bayvoice.reckon.answer import Answer, figures, plain
from bayvoice.reckon.inputs import in_unit, number, numbers, quantity, whole, wholes
from bayvoice.reckon.subject import Subjects

_FOUR = "rounded to four figures"


def add(subjects: Subjects) -> None:
    """Declare the subjects."""
    adapter = subjects.add(
        "adapter",
        "torque wrench setting with an adapter or extension at an angle",
        '"80 N.m" --wrench "400 mm" --adapter "50 mm" --angle 0',
        _adapter,
    )
    adapter.add_argument("torque", metavar="TORQUE", help='wanted at the fastener: "80 N.m"')
    adapter.add_argument("--wrench", required=True, metavar="LENGTH", help="middle of the drive to middle of the grip")
    adapter.add_argument("--adapter", required=True, metavar="LENGTH", help="middle of the drive to the fastener")
    adapter.add_argument("--angle", default="0", metavar="DEGREES", help="0 straight ahead, 90 square, 180 back")
    adapter.add_argument("--largest", metavar="TORQUE", help="the wrench's largest value: is it used in its range")
    adapter.add_argument("--reached", action="store_true", help="TORQUE is the setting; say what the fastener gets")

    preload = subjects.add(
        "preload",
        "clamping force of a bolt from torque and nut factor, or the torque for a force",
        '"82 N.m" --bolt M12 --class 8.8 --nut-factor 0.2',
        _preload,
        "The force is known no better than the nut factor is.",
    )
    preload.add_argument("amount", metavar="TORQUE|FORCE", help='"82 N.m", or a force: "34 kN"')
    preload.add_argument("--bolt", required=True, metavar="M12|12", help="nominal thread diameter, millimetres")
    preload.add_argument(
        "--class", dest="grade", metavar="8.8", help="property class: also say the share of proof load"
    )
    preload.add_argument(
        "--nut-factor", required=True, metavar="K", help="of this joint: 0.2 dry is common, oiled less"
    )
    preload.add_argument("--scatter", default="0.3", metavar="SHARE", help="of the nut factor (default 0.3)")

    order = subjects.add(
        "order",
        "tightening order of the bolts of a joint, or its exact reverse",
        "--bolts 12 --pattern circle",
        _order,
    )
    order.add_argument("--bolts", metavar="N", help="how many (circle, row)")
    order.add_argument("--pattern", choices=("circle", "row", "rectangle", "given"), default="circle")
    order.add_argument("--rows", metavar="N", help="rectangle: rows")
    order.add_argument("--columns", metavar="N", help="rectangle: bolts in a row")
    order.add_argument("--rim", action="store_true", help="rectangle: only along the edge, numbered clockwise")
    order.add_argument("--given", metavar="1,3,2,4", help="the maker's own order, to be checked or undone")
    order.add_argument("--undo", action="store_true", help="for loosening: the exact reverse")
    order.add_argument("--torque", metavar="TORQUE", help="also the passes up to this torque")
    order.add_argument("--stages", default="30,60,100", metavar="PERCENTS", help="of the passes (default 30,60,100)")

    angle = subjects.add("angle", "running total of torque-plus-angle stages", "60 80", _angle)
    angle.add_argument("angles", nargs="+", metavar="DEGREES")


def _adapter(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.torque import torque_reached, wrench_setting

    torque, unit = quantity(args.torque, "N.m", "torque")
    wrench = float(in_unit(args.wrench, "mm", "--wrench"))
    adapter = float(in_unit(args.adapter, "mm", "--adapter"))
    angle = float(in_unit(args.angle, "deg", "--angle"))
    given = {"wrench_mm": wrench, "adapter_mm": adapter, "angle_deg": angle, "unit": unit}
    largest = None if args.largest is None else in_unit(args.largest, unit, "--largest")
    if args.reached:
        found = torque_reached(float(torque), wrench, adapter, angle)
        line = f"A wrench set to {plain(torque)} {unit} gives the fastener {figures(found)} {unit}."
        body = {"setting": torque, "torque": found, **given}
        return _with_range(Answer(body, [line], rounding=_FOUR), float(torque), unit, largest)
    found = wrench_setting(float(torque), wrench, adapter, angle)
    change = "no change" if found == float(torque) else f"factor {figures(found / float(torque))}"
    lines = [f"Set the wrench to {figures(found)} {unit} for {plain(torque)} {unit} at the fastener ({change})."]
    lines.append("Pull at the middle of the grip; both lengths run from middle to middle.")
    body = {"torque": torque, "setting": found, **given}
    return _with_range(Answer(body, lines, rounding=_FOUR), found, unit, largest)


def _with_range(answer: Answer, setting: float, unit: str, largest: Decimal | None) -> Answer:
    """The answer, with whether the wrench is used where it is calibrated and how far off it may be."""
    from bayvoice.trade.torque import in_range, permissible_deviation
    from bayvoice.units import UNITS

    if largest is None:
        return answer
    good = in_range(setting, float(largest))
    share = permissible_deviation(setting * float(UNITS[unit].factor))
    lines = [
        *answer.lines,
        f"A setting wrench may be off by {100 * share:g} percent there (ISO 6789)."
        if good
        else f"That is outside the wrench's range, 20 to 100 percent of {plain(largest)} {unit} (ISO 6789).",
    ]
    body = {**answer.figures, "largest": largest, "in_range": good, "permissible_deviation": share if good else None}
    return Answer(body, lines, answer.in_order and good, answer.rounding)


def _preload(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import torque as trade

    size = re.fullmatch(r"[Mm]?([0-9]+(?:\.[0-9]+)?)", args.bolt.strip())
    if not size:
        raise BayError(f'"{args.bolt}" is not a thread', "--bolt", "write it like M12")
    diameter = Decimal(size.group(1))
    factor, scatter = float(number(args.nut_factor, "--nut-factor")), float(number(args.scatter, "--scatter"))
    proof = None
    if args.grade is not None:
        if diameter != diameter.to_integral_value():
            raise BayError(f"M{diameter} is not a coarse thread known here", "--bolt", "leave out --class")
        proof = trade.bolt(int(diameter), args.grade).proof_load
    is_force = re.search(r"N$|lbf$|kgf$", args.amount.strip()) is not None
    if is_force:
        force = float(in_unit(args.amount, "N", "force"))
        torque = trade.torque_for(force, float(diameter), factor)
    else:
        torque = float(in_unit(args.amount, "N.m", "torque"))
    found = trade.preload(torque, float(diameter), factor, scatter)
    lines = [
        f"{figures(torque)} N.m on M{plain(diameter)} with nut factor {factor:g} clamps with "
        f"{figures(found.nominal / 1000)} kN.",
        f"With the nut factor off by {100 * scatter:g} percent either way: {figures(found.least / 1000, 3)} to "
        f"{figures(found.most / 1000, 3)} kN.",
    ]
    answer = {
        "torque_Nm": torque, "diameter_mm": diameter, "nut_factor": factor, "scatter": scatter,
        "force_N": found.nominal, "least_N": found.least, "most_N": found.most,
    }  # fmt: skip
    if proof is not None:
        share = found.nominal / proof
        answer |= {"class": args.grade, "proof_load_N": proof, "share_of_proof": share}
        lines.append(
            f"Proof load of class {args.grade}: {figures(proof / 1000, 3)} kN (ISO 898-1); this is "
            f"{100 * share:.0f} percent of it, at most {100 * found.most / proof:.0f}."
        )
        if found.most > proof:
            lines.append("With the scatter it may pass the proof load: ask the maker of the joint.")
    return Answer(answer, lines, rounding="rounded to three or four figures")


def _order(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import order as trade
    from bayvoice.trade.torque import passes

    if args.given is not None or args.pattern == "given":
        if args.given is None:
            raise BayError("the order itself is missing", "--given", "write it like 1,3,2,4")
        bolts = None if args.bolts is None else whole(args.bolts, "--bolts")
        found = trade.given_order(wholes(args.given, "--given"), bolts)
        pattern = "given"
    elif args.pattern == "rectangle":
        if args.rows is None or args.columns is None:
            raise BayError("a rectangle has rows and columns", "--pattern", "give --rows and --columns")
        rows, columns = whole(args.rows, "--rows"), whole(args.columns, "--columns")
        found = trade.rectangle_order(rows, columns, args.rim)
        pattern = "rectangle"
    else:
        if args.bolts is None:
            raise BayError("the number of bolts is missing", "--bolts", "give it, like --bolts 12")
        bolts = whole(args.bolts, "--bolts")
        pattern = args.pattern
        found = trade.star_order(bolts) if pattern == "circle" else trade.row_order(bolts)
    if args.undo:
        found = trade.undoing(found)
    body = {"pattern": pattern, "bolts": len(found), "undo": args.undo, "order": list(found)}
    lines = [f"{'Loosen' if args.undo else 'Tighten'} in this order: {' '.join(map(str, found))}"]
    if args.torque is not None:
        if args.undo:
            raise BayError("loosening has no torque", "--torque", "leave it out or leave out --undo")
        torque, unit = quantity(args.torque, "N.m", "--torque")
        steps = passes(torque, found, numbers(args.stages, "--stages"))
        body["passes"] = [
            {"pass": p.number, "percent": p.percent, "torque": p.torque, "unit": unit, "order": list(p.order),
             "until_none_turns": p.until_none_turns}
            for p in steps
        ]  # fmt: skip
        lines += [
            f"Pass {p.number}: {figures(p.torque)} {unit}"
            + (", round and round until no nut turns" if p.until_none_turns else f" ({plain(p.percent)} percent)")
            for p in steps
        ]
    return Answer(body, lines, rounding=_FOUR if args.torque else "")


def _angle(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.torque import turning

    found = turning([in_unit(angle, "deg", "angle") for angle in args.angles])
    lines = [
        f"Stage {i}: {plain(t.angle)} degrees, {plain(t.total)} in all; a paint mark from the top points to "
        f"{figures(t.mark)} degrees."
        for i, t in enumerate(found, start=1)
    ]
    stages = [{"angle": t.angle, "total": t.total, "mark": t.mark, "flats": t.flats} for t in found]
    return Answer({"total": found[-1].total, "stages": stages}, lines)
