"""Subjects of fluids and chemicals: mix, dilute, fill, cure, depth."""

from __future__ import annotations

import argparse
from decimal import Decimal
from typing import Any

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.reckon.answer import Answer, figures, plain
from bayvoice.reckon.inputs import duration, in_unit, number, numbers, quantity, whole
from bayvoice.reckon.subject import Subjects


def add(subjects: Subjects) -> None:
    """Declare the subjects."""
    mix = subjects.add("mix", tell("reckon-how-much-of-each-in-mixture"), '50:1 --of 1 "5 l"', _mix)
    mix.add_argument("ratio", metavar="A:B", help=tell("reckon-parts-like-50-1-or-4"))
    amount = mix.add_mutually_exclusive_group(required=True)
    amount.add_argument("--total", metavar="VOLUME", help=tell("reckon-of-all-together-7-6"))
    amount.add_argument("--of", nargs=2, metavar=("N", "VOLUME"), help=tell("reckon-of-part-n-counted-from-1"))

    dilute = subjects.add(
        "dilute",
        tell("reckon-how-much-of-mixture-to-drain"),
        '"8 l" --now 30 --wanted 50 --fill-with 100',
        _dilute,
    )
    dilute.add_argument("volume", metavar="VOLUME", help=tell("reckon-of-full-system"))
    dilute.add_argument("--now", required=True, metavar="PERCENT")
    dilute.add_argument("--wanted", required=True, metavar="PERCENT")
    dilute.add_argument("--fill-with", default="100", metavar="PERCENT", help=tell("reckon-concentrate-or-water"))

    fill = subjects.add("fill", tell("reckon-volume-to-fill-from-capacity"), '--capacity "2.0 l" --left "0.3 l"', _fill)
    vessel = fill.add_mutually_exclusive_group(required=True)
    vessel.add_argument("--capacity", metavar="VOLUME")
    vessel.add_argument("--cylinder", nargs=2, metavar=("DIAMETER", "HEIGHT"), help=tell("reckon-standing"))
    vessel.add_argument(
        "--tank", nargs=3, metavar=("DIAMETER", "LENGTH", "DEPTH"), help=tell("reckon-lying-cylinder-so-deep-full")
    )
    vessel.add_argument("--box", nargs=3, metavar=("WIDTH", "LENGTH", "DEPTH"))
    fill.add_argument("--left", default="0", metavar="VOLUME", help=tell("reckon-still-inside-with-capacity"))
    fill.add_argument("--share", default="100", metavar="PERCENT", help=tell("reckon-how-full-shall-be-with-capacity"))

    cure = subjects.add(
        "cure",
        tell("reckon-time-of-chemical-at-bays"),
        '--row "25, 60 min" --row "35, 30 min" --at 30',
        _cure,
        tell("reckon-inside-table-or-stated-range"),
    )
    cure.add_argument("--at", required=True, metavar="DEGREES", help=tell("reckon-temperature-of-bay-celsius"))
    cure.add_argument("--humidity", metavar="PERCENT")
    cure.add_argument(
        "--row", action="append", default=[], metavar='"T, TIME"', help=tell("reckon-line-of-table-t-humidity")
    )
    cure.add_argument("--maximum", action="store_true", help=tell("reckon-time-is-maximum-open-so-err"))
    cure.add_argument("--time", metavar="TIME", help=tell("reckon-or-time-at-reference"))
    cure.add_argument("--reference", metavar="DEGREES")
    cure.add_argument("--valid", metavar="T,T", help=tell("reckon-temperatures-between-which-rate-holds"))
    rate = cure.add_mutually_exclusive_group()
    rate.add_argument(
        "--doubling", nargs="?", const="2", metavar="FACTOR", help=tell("reckon-so-many-times-faster-every")
    )
    rate.add_argument("--energy", metavar="KJ/MOL", help=tell("reckon-activation-energy-arrhenius"))

    depth = subjects.add(
        "depth",
        tell("reckon-how-deep-one-part-sealant"),
        '--known "2.5 mm" --after "1 d" --deepest "6 mm" --time "3 d"',
        _depth,
        tell("reckon-one-point-and-deepest-cure"),
    )
    depth.add_argument("--known", required=True, metavar="DEPTH", help=tell("reckon-depth-maker-gives"))
    depth.add_argument("--after", required=True, metavar="TIME", help=tell("reckon-and-time"))
    depth.add_argument("--deepest", required=True, metavar="DEPTH", help=tell("reckon-deepest-maker-claims"))
    asked = depth.add_mutually_exclusive_group(required=True)
    asked.add_argument("--time", metavar="TIME", help=tell("reckon-how-deep-after"))
    asked.add_argument("--depth", metavar="DEPTH", help=tell("reckon-how-long-for"))


def _mix(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.fluids import parts, parts_for

    ratio = [number(part, tell("reckon-ratio")) for part in args.ratio.split(":")]
    if args.total is not None:
        total, unit = quantity(args.total, "l", "--total")
        found = parts(ratio, total)
    else:
        which = whole(args.of[0], "--of")
        amount, unit = quantity(args.of[1], "l", "--of")
        found = parts_for(ratio, which - 1, amount)
    lines = [
        tell("reckon-part-i-share-volume-unit", i=i, share=plain(share), volume=figures(volume), unit=unit)
        for i, (share, volume) in enumerate(zip(ratio, found, strict=True), start=1)
    ]
    whole_volume = sum(found, Decimal(0))
    lines.append(tell("reckon-together-whole-volume-unit", volume=figures(whole_volume), unit=unit))
    return Answer(
        {"ratio": ratio, "parts": list(found), "total": whole_volume, "unit": unit},
        lines,
        rounding=tell("reckon-rounded-to-four-figures"),
    )


def _dilute(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.fluids import exchange

    volume, unit = quantity(args.volume, "l", tell("reckon-volume"))
    now, wanted, fill = (
        in_unit(text, "%", what) if "%" in text else number(text, what)
        for text, what in ((args.now, "--now"), (args.wanted, "--wanted"), (args.fill_with, "--fill-with"))
    )
    found = exchange(volume, now, wanted, fill)
    line = tell(
        "reckon-drain-unit-and-fill-up",
        drain=figures(found.drain),
        unit=unit,
        fill=plain(fill),
        share=plain(found.share),
        volume=plain(volume),
    )
    return Answer(
        {"drain": found.drain, "unit": unit, "share": found.share},
        [line],
        rounding=tell("reckon-rounded-to-four-figures"),
    )


def _fill(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import fluids

    if args.capacity is not None:
        capacity, unit = quantity(args.capacity, "l", "--capacity")
        left = in_unit(args.left, unit, "--left") if _has_unit(args.left) else number(args.left, "--left")
        found = fluids.to_fill(capacity, left, number(args.share, "--share"))
        return Answer(
            {"fill": found, "unit": unit},
            [tell("reckon-fill-in-found-unit", found=figures(found), unit=unit)],
            rounding=tell("reckon-rounded-to-four-figures"),
        )
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
    return Answer(
        {"fill": volume, "unit": "l"},
        [tell("reckon-holds-volume-l", volume=figures(volume))],
        rounding=tell("reckon-rounded-to-four-figures"),
    )


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
                tell("reckon-no-table-and-rate"),
                "",
                tell("reckon-give-row-for-each-line"),
            )
        if args.doubling is None and args.energy is None:
            raise BayError(tell("reckon-how-rate-grows-is-missing"), "", tell("reckon-give-doubling-or-energy"))
        reference = in_unit(args.reference, "degC", "--reference")
        valid = numbers(args.valid, "--valid")
        if len(valid) != 2:
            raise BayError(
                tell("reckon-not-two-temperatures", valid=args.valid),
                "--valid",
                tell("reckon-write-them-like-15-35"),
            )
        if args.energy is not None:
            energy = float(number(args.energy, "--energy")) * 1000
            factor = trade.arrhenius_factor(energy, float(reference), float(at))
        else:
            factor = trade.doubling_factor(float(reference), float(at), float(number(args.doubling, "--doubling")))
        time = duration(args.time, "--time")
        found = trade.window_by_rate(time, factor, at, (valid[0], valid[1]), side)
        body["factor"] = factor
    body |= {"seconds": found.seconds, "why": found.why}
    lines = [
        tell(
            "reckon-no-more-than" if args.maximum else "reckon-no-less-than",
            time=trade.time_words(found.seconds),
            temperature=plain(at),
        ),
        tell("reckon-is-why", why=found.why),
    ]
    return Answer(
        body,
        lines,
        rounding=tell("reckon-rounded-down-to-whole-seconds" if args.maximum else "reckon-rounded-up-to-whole-seconds"),
    )


def _row(text: str) -> Any:
    from bayvoice.trade.cure import Row

    words = [word.strip() for word in text.split(",")]
    if len(words) not in (2, 3):
        raise BayError(tell("reckon-no-line-of-table", text=text), "--row", tell("reckon-write-like-25-60-min"))
    humidity = number(words[1].rstrip("% "), "--row") if len(words) == 3 else None
    return Row(in_unit(words[0], "degC", "--row"), duration(words[-1], "--row"), humidity)


def _depth(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import cure as trade

    known, after = in_unit(args.known, "mm", "--known"), duration(args.after, "--after")
    deepest = in_unit(args.deepest, "mm", "--deepest")
    if args.time is not None:
        time = duration(args.time, "--time")
        found = trade.depth_after(time, known, after, deepest)
        lines = [tell("reckon-about-found-mm-cured-after", found=plain(found), time=trade.time_words(int(time)))]
        if found >= deepest:
            lines.append(tell("reckon-more-than-deepest-mm-is-not-claimed", deepest=plain(deepest)))
        return Answer({"depth_mm": found, "seconds": int(time)}, lines, rounding=tell("reckon-cut-off-to-hundredth"))
    window = trade.time_for_depth(in_unit(args.depth, "mm", "--depth"), known, after, deepest)
    lines = [
        tell("reckon-no-less-than-seconds", time=trade.time_words(window.seconds)),
        tell("reckon-depth-why", why=window.why),
    ]
    return Answer(
        {"seconds": window.seconds, "why": window.why}, lines, rounding=tell("reckon-rounded-up-to-whole-seconds")
    )
