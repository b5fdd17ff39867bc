"""Subjects of fastening: torque, adapter, preload, order, angle."""

from __future__ import annotations

import argparse
import re
from decimal import Decimal

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.reckon.answer import Answer, figures, plain
from bayvoice.reckon.inputs import in_unit, number, numbers, quantity, whole, wholes
from bayvoice.reckon.subject import Subjects


def add(subjects: Subjects) -> None:
    """Declare the subjects."""
    adapter = subjects.add(
        "adapter",
        tell("reckon-torque-wrench-setting-with-adapter"),
        '"80 N.m" --wrench "400 mm" --adapter "50 mm" --angle 0',
        _adapter,
    )
    adapter.add_argument("torque", metavar="TORQUE", help=tell("reckon-wanted-at-fastener-80-n"))
    adapter.add_argument("--wrench", required=True, metavar="LENGTH", help=tell("reckon-middle-of-drive-to-grip"))
    adapter.add_argument("--adapter", required=True, metavar="LENGTH", help=tell("reckon-middle-of-drive-to-fastener"))
    adapter.add_argument("--angle", default="0", metavar="DEGREES", help=tell("reckon-angle-of-adapter"))
    adapter.add_argument("--largest", metavar="TORQUE", help=tell("reckon-wrenchs-largest-value-is-used"))
    adapter.add_argument("--reached", action="store_true", help=tell("reckon-torque-is-setting-say-what"))

    preload = subjects.add(
        "preload",
        tell("reckon-clamping-force-of-bolt-from-torque"),
        '"82 N.m" --bolt M12 --class 8.8 --nut-factor 0.2',
        _preload,
        tell("reckon-force-is-known-no-better"),
    )
    preload.add_argument("amount", metavar="TORQUE|FORCE", help=tell("reckon-82-n-m-or-force"))
    preload.add_argument(
        "--bolt", required=True, metavar="M12|12", help=tell("reckon-nominal-thread-diameter-millimetres")
    )
    preload.add_argument("--class", dest="grade", metavar="8.8", help=tell("reckon-property-class-also-say-share"))
    preload.add_argument("--nut-factor", required=True, metavar="K", help=tell("reckon-of-joint-0-2-dry"))
    preload.add_argument("--scatter", default="0.3", metavar="SHARE", help=tell("reckon-of-nut-factor-default-0"))

    order = subjects.add(
        "order",
        tell("reckon-tightening-order-of-bolts-joint"),
        "--bolts 12 --pattern circle",
        _order,
    )
    order.add_argument("--bolts", metavar="N", help=tell("reckon-how-many-circle-row"))
    order.add_argument("--pattern", choices=("circle", "row", "rectangle", "given"), default="circle")
    order.add_argument("--rows", metavar="N", help=tell("reckon-rectangle-rows"))
    order.add_argument("--columns", metavar="N", help=tell("reckon-rectangle-bolts-in-row"))
    order.add_argument("--rim", action="store_true", help=tell("reckon-rectangle-only-along-edge-numbered"))
    order.add_argument("--given", metavar="1,3,2,4", help=tell("reckon-makers-own-order-to-be-checked"))
    order.add_argument("--undo", action="store_true", help=tell("reckon-for-loosening-exact-reverse"))
    order.add_argument("--torque", metavar="TORQUE", help=tell("reckon-also-passes-up-to-torque"))
    order.add_argument("--stages", default="30,60,100", metavar="PERCENTS", help=tell("reckon-of-passes-default-30-60"))

    angle = subjects.add("angle", tell("reckon-running-total-of-torque-plus"), "60 80", _angle)
    angle.add_argument("angles", nargs="+", metavar="DEGREES")


def _adapter(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.torque import torque_reached, wrench_setting

    torque, unit = quantity(args.torque, "N.m", tell("reckon-torque"))
    wrench = float(in_unit(args.wrench, "mm", "--wrench"))
    adapter = float(in_unit(args.adapter, "mm", "--adapter"))
    angle = float(in_unit(args.angle, "deg", "--angle"))
    given = {"wrench_mm": wrench, "adapter_mm": adapter, "angle_deg": angle, "unit": unit}
    largest = None if args.largest is None else in_unit(args.largest, unit, "--largest")
    if args.reached:
        found = torque_reached(float(torque), wrench, adapter, angle)
        line = tell("reckon-wrench-set-to-torque-unit", torque=plain(torque), unit=unit, found=figures(found))
        body = {"setting": torque, "torque": found, **given}
        return _with_range(
            Answer(body, [line], rounding=tell("reckon-rounded-to-four-figures")), float(torque), unit, largest
        )
    found = wrench_setting(float(torque), wrench, adapter, angle)
    fields = {"setting": figures(found), "unit": unit, "torque": plain(torque)}
    lines: list[str] = [
        tell("reckon-set-wrench-unchanged", **fields)
        if found == float(torque)
        else tell("reckon-set-wrench", **fields, factor=figures(found / float(torque)))
    ]
    lines.append(tell("reckon-pull-at-middle-of-grip"))
    body = {"torque": torque, "setting": found, **given}
    return _with_range(Answer(body, lines, rounding=tell("reckon-rounded-to-four-figures")), found, unit, largest)


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
        tell("reckon-setting-wrench-may-be-off", percent=f"{100 * share:g}")
        if good
        else tell("reckon-is-outside-wrenchs-range-20", largest=plain(largest), unit=unit),
    ]
    body = {**answer.figures, "largest": largest, "in_range": good, "permissible_deviation": share if good else None}
    return Answer(body, lines, answer.in_order and good, answer.rounding)


def _preload(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import torque as trade

    size = re.fullmatch(r"[Mm]?([0-9]+(?:\.[0-9]+)?)", args.bolt.strip())
    if not size:
        raise BayError(tell("reckon-no-thread", bolt=args.bolt), "--bolt", tell("reckon-write-like-m-12"))
    diameter = Decimal(size.group(1))
    factor, scatter = float(number(args.nut_factor, "--nut-factor")), float(number(args.scatter, "--scatter"))
    proof = None
    if args.grade is not None:
        if diameter != diameter.to_integral_value():
            raise BayError(
                tell("reckon-m-diameter-is-not-coarse", diameter=diameter), "--bolt", tell("reckon-leave-out-class")
            )
        proof = trade.bolt(int(diameter), args.grade).proof_load
    is_force = re.search(r"N$|lbf$|kgf$", args.amount.strip()) is not None
    if is_force:
        force = float(in_unit(args.amount, "N", tell("reckon-force")))
        torque = trade.torque_for(force, float(diameter), factor)
    else:
        torque = float(in_unit(args.amount, "N.m", tell("reckon-torque")))
    found = trade.preload(torque, float(diameter), factor, scatter)
    lines = [
        tell(
            "reckon-torque-n-m-on-diameter",
            torque=figures(torque),
            diameter=plain(diameter),
            factor=f"{factor:g}",
            force=figures(found.nominal / 1000),
        ),
        tell(
            "reckon-with-nut-factor-off-by-value",
            scatter=f"{100 * scatter:g}",
            least=figures(found.least / 1000, 3),
            most=figures(found.most / 1000, 3),
        ),
    ]
    answer = {
        "torque_Nm": torque,
        "diameter_mm": diameter,
        "nut_factor": factor,
        "scatter": scatter,
        "force_N": found.nominal,
        "least_N": found.least,
        "most_N": found.most,
    }
    if proof is not None:
        share = found.nominal / proof
        answer |= {"class": args.grade, "proof_load_N": proof, "share_of_proof": share}
        lines.append(
            tell(
                "reckon-proof-load-of-class-grade",
                grade=args.grade,
                load=figures(proof / 1000, 3),
                share=f"{100 * share:.0f}",
                most=f"{100 * found.most / proof:.0f}",
            )
        )
        if found.most > proof:
            lines.append(tell("reckon-with-scatter-may-pass-proof"))
    return Answer(answer, lines, rounding=tell("reckon-rounded-to-three-or-four"))


def _order(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import order as trade
    from bayvoice.trade.torque import passes

    if args.given is not None or args.pattern == "given":
        if args.given is None:
            raise BayError(tell("reckon-order-itself-is-missing"), "--given", tell("reckon-write-like-1-3-2"))
        bolts = None if args.bolts is None else whole(args.bolts, "--bolts")
        found = trade.given_order(wholes(args.given, "--given"), bolts)
        pattern = "given"
    elif args.pattern == "rectangle":
        if args.rows is None or args.columns is None:
            raise BayError(
                tell("reckon-rectangle-has-rows-and-columns"), "--pattern", tell("reckon-give-rows-and-columns")
            )
        rows, columns = whole(args.rows, "--rows"), whole(args.columns, "--columns")
        found = trade.rectangle_order(rows, columns, args.rim)
        pattern = "rectangle"
    else:
        if args.bolts is None:
            raise BayError(tell("reckon-number-of-bolts-is-missing"), "--bolts", tell("reckon-give-like-bolts-12"))
        bolts = whole(args.bolts, "--bolts")
        pattern = args.pattern
        found = trade.star_order(bolts) if pattern == "circle" else trade.row_order(bolts)
    if args.undo:
        found = trade.undoing(found)
    body = {"pattern": pattern, "bolts": len(found), "undo": args.undo, "order": list(found)}
    lines = [
        tell("reckon-loosen-in-order" if args.undo else "reckon-tighten-in-order", order=" ".join(map(str, found)))
    ]
    if args.torque is not None:
        if args.undo:
            raise BayError(tell("reckon-loosening-has-no-torque"), "--torque", tell("reckon-leave-out-or-undo"))
        torque, unit = quantity(args.torque, "N.m", "--torque")
        steps = passes(torque, found, numbers(args.stages, "--stages"))
        body["passes"] = [
            {
                "pass": p.number,
                "percent": p.percent,
                "torque": p.torque,
                "unit": unit,
                "order": list(p.order),
                "until_none_turns": p.until_none_turns,
            }
            for p in steps
        ]
        lines += [
            tell("reckon-last-pass", number=p.number, torque=figures(p.torque), unit=unit)
            if p.until_none_turns
            else tell("reckon-pass", number=p.number, torque=figures(p.torque), unit=unit, percent=plain(p.percent))
            for p in steps
        ]
    return Answer(body, lines, rounding=tell("reckon-rounded-to-four-figures") if args.torque else "")


def _angle(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.torque import turning

    found = turning([in_unit(angle, "deg", tell("reckon-angle")) for angle in args.angles])
    lines = [
        tell("reckon-stage-turned", stage=i, angle=plain(t.angle), total=plain(t.total), mark=figures(t.mark))
        for i, t in enumerate(found, start=1)
    ]
    stages = [{"angle": t.angle, "total": t.total, "mark": t.mark, "flats": t.flats} for t in found]
    return Answer({"total": found[-1].total, "stages": stages}, lines)
