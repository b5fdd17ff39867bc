"""Subjects of fluids and chemicals: mix, dilute, fill, cure, depth."""

from __future__ import annotations

import argparse
from decimal import Decimal
from typing import Any

from bayvoice.errors import BayError
from bayvoice.reckon.answer import Answer, figures, plain
from bayvoice.reckon.inputs import duration, in_unit, number, numbers, quantity, whole
from bayvoice.reckon.subject import Subjects

_FOUR = "rounded to four figures"


def add(subjects: Subjects) -> None:
    """Declare the subjects."""
    mix = subjects.add("mix", "how much of each in a mixture", '50:1 --of 1 "5 l"', _mix)
    mix.add_argument("ratio", metavar="A:B", help="parts, like 50:1 or 4:1:0.5")
    amount = mix.add_mutually_exclusive_group(required=True)
    amount.add_argument("--total", metavar="VOLUME", help='of all together: "7.6 l"')
    amount.add_argument("--of", nargs=2, metavar=("N", "VOLUME"), help="of part N, counted from 1")

    dilute = subjects.add(
        "dilute",
        "how much of a mixture to drain and fill up, so that it has the wanted strength",
        '"8 l" --now 30 --wanted 50 --fill-with 100',
        _dilute,
    )
    dilute.add_argument("volume", metavar="VOLUME", help="of the full system")
    dilute.add_argument("--now", required=True, metavar="PERCENT")
    dilute.add_argument("--wanted", required=True, metavar="PERCENT")
    dilute.add_argument("--fill-with", default="100", metavar="PERCENT", help="100 concentrate (default), 0 water")

    fill = subjects.add(
        "fill", "volume to fill: from capacity and rest, or of a vessel", '--capacity "2.0 l" --left "0.3 l"', _fill
    )
    vessel = fill.add_mutually_exclusive_group(required=True)
    vessel.add_argument("--capacity", metavar="VOLUME")
    vessel.add_argument("--cylinder", nargs=2, metavar=("DIAMETER", "HEIGHT"), help="standing")
    vessel.add_argument("--tank", nargs=3, metavar=("DIAMETER", "LENGTH", "DEPTH"), help="lying cylinder, so deep full")
    vessel.add_argument("--box", nargs=3, metavar=("WIDTH", "LENGTH", "DEPTH"))
    fill.add_argument("--left", default="0", metavar="VOLUME", help="still inside (with --capacity)")
    fill.add_argument("--share", default="100", metavar="PERCENT", help="how full it shall be (with --capacity)")

    cure = subjects.add(
        "cure",
        "time of a chemical at the bay's temperature, from the maker's table or a stated rate",
        '--row "25, 60 min" --row "35, 30 min" --at 30',
        _cure,
        "Inside the table or the stated range only. Minimum times are rounded up; --maximum rounds down.",
    )
    cure.add_argument("--at", required=True, metavar="DEGREES", help="temperature of the bay, Celsius")
    cure.add_argument("--humidity", metavar="PERCENT")
    cure.add_argument(
        "--row", action="append", default=[], metavar='"T, TIME"', help='line of the table; "T, HUMIDITY, TIME" too'
    )
    cure.add_argument("--maximum", action="store_true", help="the time is a maximum (open time), so err short")
    cure.add_argument("--time", metavar="TIME", help="or: the time at --reference")
    cure.add_argument("--reference", metavar="DEGREES")
    cure.add_argument("--valid", metavar="T,T", help="temperatures between which the rate holds")
    rate = cure.add_mutually_exclusive_group()
    rate.add_argument(
        "--doubling", nargs="?", const="2", metavar="FACTOR", help="so many times faster every 10 degrees"
    )
    rate.add_argument("--energy", metavar="KJ/MOL", help="activation energy (Arrhenius)")

    depth = subjects.add(
        "depth",
        "how deep a one-part sealant has cured, by the square root of time",
        '--known "2.5 mm" --after "1 d" --deepest "6 mm" --time "3 d"',
        _depth,
        "One point and the deepest cure are the maker's; the bay must be as warm and moist as they say.",
    )
    depth.add_argument("--known", required=True, metavar="DEPTH", help="a depth the maker gives …")
    depth.add_argument("--after", required=True, metavar="TIME", help="… and its time")
    depth.add_argument("--deepest", required=True, metavar="DEPTH", help="the deepest the maker claims")
    asked = depth.add_mutually_exclusive_group(required=True)
    asked.add_argument("--time", metavar="TIME", help="how deep after this")
    asked.add_argument("--depth", metavar="DEPTH", help="how long for this")


def _mix(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.fluids import parts, parts_for

    ratio = [number(part, "ratio") for part in args.ratio.split(":")]
    if args.total is not None:
        total, unit = quantity(args.total, "l", "--total")
        found = parts(ratio, total)
    else:
        which = whole(args.of[0], "--of")
        amount, unit = quantity(args.of[1], "l", "--of")
        found = parts_for(ratio, which - 1, amount)
    lines = [
        f"Part {i} ({plain(share)}): {figures(volume)} {unit}"
        for i, (share, volume) in enumerate(zip(ratio, found, strict=True), start=1)
    ]
    whole_volume = sum(found, Decimal(0))
    lines.append(f"Together {figures(whole_volume)} {unit}.")
    return Answer({"ratio": ratio, "parts": list(found), "total": whole_volume, "unit": unit}, lines, rounding=_FOUR)


def _dilute(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.fluids import exchange

    volume, unit = quantity(args.volume, "l", "volume")
    now, wanted, fill = (
        in_unit(text, "%", what) if "%" in text else number(text, what)
        for text, what in ((args.now, "--now"), (args.wanted, "--wanted"), (args.fill_with, "--fill-with"))
    )
    found = exchange(volume, now, wanted, fill)
    line = (
        f"Drain {figures(found.drain)} {unit} and fill up with as much of {plain(fill)} percent: "
        f"{plain(found.share)} percent in {plain(volume)} {unit}."
    )
    return Answer({"drain": found.drain, "unit": unit, "share": found.share}, [line], rounding=_FOUR)


def _fill(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import fluids

    if args.capacity is not None:
        capacity, unit = quantity(args.capacity, "l", "--capacity")
        left = in_unit(args.left, unit, "--left") if _has_unit(args.left) else number(args.left, "--left")
        found = fluids.to_fill(capacity, left, number(args.share, "--share"))
        return Answer({"fill": found, "unit": unit}, [f"Fill in {figures(found)} {unit}."], rounding=_FOUR)
    volume: Decimal | float
    if args.box is not None:
        sides = [in_unit(side, "mm", "--box") for side in args.box]
        volume = fluids.box(sides[0], sides[1], sides[2])
    elif args.cylinder is not None:
        lengths = [float(in_unit(length, "mm", "--cylinder")) for length in args.cylinder]
        volume = fluids.cylinder(*lengths)
    else:
        lengths = [float(in_unit(length, "mm", "--tank")) for length in args.tank]
        volume = fluids.lying_cylinder(*lengths)
    return Answer({"fill": volume, "unit": "l"}, [f"It holds {figures(volume)} l."], rounding=_FOUR)


def _has_unit(text: str) -> bool:
    return any(character.isalpha() for character in text)


def _cure(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import cure as trade

    at = in_unit(args.at, "degC", "--at")
    side: trade.Side = "shorter" if args.maximum else "longer"
    body: dict[str, Any] = {"temperature_C": at}
    if args.row:
        humidity = None if args.humidity is None else number(args.humidity.rstrip("% "), "--humidity")
        found = trade.window_from_table([_row(text) for text in args.row], at, humidity, side)
        body["humidity"] = humidity
    else:
        if args.time is None or args.reference is None or args.valid is None:
            raise BayError(
                "there is no table and no rate",
                "",
                "give --row for each line of the table, or --time, --reference, --valid and --doubling or --energy",
            )
        if args.doubling is None and args.energy is None:
            raise BayError("how the rate grows is missing", "", "give --doubling or --energy")
        reference = in_unit(args.reference, "degC", "--reference")
        valid = numbers(args.valid, "--valid")
        if len(valid) != 2:
            raise BayError(f'"{args.valid}" is not two temperatures', "--valid", "write them like 15,35")
        if args.energy is not None:
            energy = float(number(args.energy, "--energy")) * 1000
            factor = trade.arrhenius_factor(energy, float(reference), float(at))
        else:
            factor = trade.doubling_factor(float(reference), float(at), float(number(args.doubling, "--doubling")))
        time = duration(args.time, "--time")
        found = trade.window_by_rate(time, factor, at, (valid[0], valid[1]), side)
        body["factor"] = factor
    body |= {"seconds": found.seconds, "why": found.why}
    bound = "No more" if args.maximum else "No less"
    lines = [f"{bound} than {trade.time_words(found.seconds)} at {plain(at)} °C.", f"It is {found.why}."]
    return Answer(body, lines, rounding=f"rounded {'down' if args.maximum else 'up'} to whole seconds")


def _row(text: str) -> Any:
    from bayvoice.trade.cure import Row

    words = [word.strip() for word in text.split(",")]
    if len(words) not in (2, 3):
        raise BayError(f'"{text}" is not a line of a table', "--row", 'write it like "25, 60 min" or "25, 50, 60 min"')
    humidity = number(words[1].rstrip("% "), "--row") if len(words) == 3 else None
    return Row(in_unit(words[0], "degC", "--row"), duration(words[-1], "--row"), humidity)


def _depth(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import cure as trade

    known, after = in_unit(args.known, "mm", "--known"), duration(args.after, "--after")
    deepest = in_unit(args.deepest, "mm", "--deepest")
    if args.time is not None:
        time = duration(args.time, "--time")
        found = trade.depth_after(time, known, after, deepest)
        lines = [f"About {plain(found)} mm cured after {trade.time_words(int(time))}."]
        if found >= deepest:
            lines.append(f"More than {plain(deepest)} mm is not claimed, however long it stands.")
        return Answer({"depth_mm": found, "seconds": int(time)}, lines, rounding="cut off to a hundredth")
    window = trade.time_for_depth(in_unit(args.depth, "mm", "--depth"), known, after, deepest)
    lines = [f"No less than {trade.time_words(window.seconds)}.", f"{window.why}."]
    return Answer({"seconds": window.seconds, "why": window.why}, lines, rounding="rounded up to whole seconds")
