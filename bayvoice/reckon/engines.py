"""Subjects of running gear: crank, valves, chain, shim, flatness."""

from __future__ import annotations

import argparse
from decimal import Decimal
from typing import Literal

from bayvoice.errors import BayError, sentence
from bayvoice.language.texts import tell
from bayvoice.reckon.answer import Answer, figures, plain
from bayvoice.reckon.inputs import in_unit, number, numbers, whole, wholes
from bayvoice.reckon.subject import Subjects


def add(subjects: Subjects) -> None:
    """Declare the subjects."""
    crank = subjects.add("crank", tell("reckon-crank-marks-before-or-after"), "--before-tdc 42", _crank)
    what = crank.add_mutually_exclusive_group(required=True)
    what.add_argument("--before-tdc", metavar="DEGREES", help=tell("reckon-where-is-on-0-to-360"))
    what.add_argument("--after-tdc", metavar="DEGREES")
    what.add_argument("--mark", metavar="DEGREES", help=tell("reckon-mark-of-scale-where-is-to-top"))
    what.add_argument("--teeth-off", metavar="N", help=tell("reckon-belt-or-chain-sits-n"))
    crank.add_argument("--teeth", metavar="N", help=tell("reckon-of-sprocket-is-off-on"))
    crank.add_argument("--on-crank", action="store_true", help=tell("reckon-sprocket-is-cranks-default-cams"))
    crank.add_argument("--diameter", metavar="LENGTH", help=tell("reckon-of-pulley-also-how-far"))

    valves = subjects.add(
        "valves",
        tell("reckon-valve-timing-events-into-duration"),
        "--inlet 6,42 --exhaust 42,12",
        _valves,
    )
    valves.add_argument("--inlet", metavar="BTDC,ABDC", help=tell("reckon-inlet-opens-before-top-closes"))
    valves.add_argument("--exhaust", metavar="BBDC,ATDC", help=tell("reckon-exhaust-opens-before-bottom-closes"))
    valves.add_argument("--durations", metavar="INLET,EXHAUST", help=tell("reckon-cam-card-with-separation"))
    valves.add_argument("--separation", metavar="DEGREES", help=tell("reckon-lobe-separation-angle"))
    valves.add_argument("--advance", default="0", metavar="DEGREES")

    chain = subjects.add(
        "chain",
        tell("reckon-elongation-of-roller-chain-over"),
        '--chain 12B --pitches 24 --measured "462.3 mm" --teeth 19,57',
        _chain,
    )
    which = chain.add_mutually_exclusive_group(required=True)
    which.add_argument("--chain", metavar="12B", help=tell("reckon-designation"))
    which.add_argument("--pitch", metavar="LENGTH")
    chain.add_argument("--pitches", required=True, metavar="N", help=tell("reckon-measured-over-6-or-more"))
    chain.add_argument("--measured", metavar="LENGTH", help=tell("reckon-from-roller-to-same-side"))
    chain.add_argument("--inside", metavar="LENGTH", help=tell("reckon-or-between-two-rollers-with-outside"))
    chain.add_argument("--outside", metavar="LENGTH", help=tell("reckon-over-two-rollers"))
    chain.add_argument("--teeth", default="", metavar="N,N", help=tell("reckon-of-sprockets-for-limit"))
    chain.add_argument("--fixed-centres", action="store_true", help=tell("reckon-nothing-takes-up-slack-1"))
    chain.add_argument("--limit", metavar="PERCENT", help=tell("reckon-makers-own-limit-if-is-lower"))

    shim = subjects.add(
        "shim",
        tell("reckon-shims-from-set-bring-end"),
        "--float 0.02 --low 0.05 --high 0.15 --fitted 0.35 --stock 0.05,0.10,0.20,0.50",
        _shim,
        tell("reckon-millimetres-unless-unit-is-given"),
    )
    shim.add_argument("--float", dest="end_float", metavar="LENGTH", help=tell("reckon-measured-with-pack-is-fitted"))
    shim.add_argument("--pushed", metavar="LENGTH", help=tell("reckon-or-two-readings-of-dial"))
    shim.add_argument("--pulled", metavar="LENGTH")
    shim.add_argument("--low", required=True, metavar="LENGTH")
    shim.add_argument("--high", required=True, metavar="LENGTH")
    shim.add_argument("--stock", required=True, metavar="T,T,…", help=tell("reckon-thicknesses-at-hand-millimetres"))
    shim.add_argument("--fitted", default="0", metavar="LENGTH", help=tell("reckon-total-of-fitted-pack-default"))
    shim.add_argument("--closes", action="store_true", help=tell("reckon-thicker-pack-takes-float-away"))
    shim.add_argument("--most", default="3", metavar="N", help=tell("reckon-shims-in-pack-default-3"))
    shim.add_argument("--single", action="store_true", help=tell("reckon-stock-names-every-single-shim"))

    flat = subjects.add(
        "flatness",
        tell("reckon-flatness-of-face-from-grid"),
        '"0.00 0.02 0.04" "0.01 0.05 0.05" "0.02 0.04 0.06" --across 50 --down 40 --limit 0.05',
        _flatness,
        tell("reckon-one-argument-for-each-row"),
    )
    flat.add_argument("rows", nargs="+", metavar="ROW")
    flat.add_argument("--across", default="1", metavar="LENGTH", help=tell("reckon-distance-of-neighbours-in-row"))
    flat.add_argument("--down", default="1", metavar="LENGTH", help=tell("reckon-distance-of-rows-default-1"))
    flat.add_argument("--limit", metavar="LENGTH", help=tell("reckon-flatness-allowed"))


def _crank(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import crank as trade

    if args.teeth_off is not None:
        if args.teeth is None:
            raise BayError(
                tell("reckon-number-of-teeth-sprocket-is-missing"), "--teeth", tell("reckon-give-like-teeth-40")
            )
        off, teeth = whole(args.teeth_off, "--teeth-off"), whole(args.teeth, "--teeth")
        error = trade.tooth_offset(off, teeth, not args.on_crank)
        line = tell(
            "reckon-off-of-teeth-is-crank", off=off, teeth=teeth, crank=figures(error.crank), cam=figures(error.cam)
        )
        body = {"teeth_off": off, "teeth": teeth, "crank": error.crank, "cam": error.cam}
        return Answer(body, [line], rounding=tell("reckon-rounded-to-four-figures"))
    if args.mark is not None:
        mark = trade.at_mark(in_unit(args.mark, "deg", "--mark"))
    elif args.before_tdc is not None:
        mark = trade.before_top(in_unit(args.before_tdc, "deg", "--before-tdc"))
    else:
        mark = trade.before_top(-in_unit(args.after_tdc, "deg", "--after-tdc"))
    place = (
        tell("reckon-top-dead-centre")
        if not mark.before
        else tell("reckon-before-top", degrees=plain(mark.before))
        if mark.before > 0
        else tell("reckon-after-top", degrees=plain(-mark.before))
    )
    if abs(mark.before) == 180:
        place = tell("reckon-bottom-dead-centre")
    lines = [
        tell(
            "reckon-place-is-mark-of-scale",
            place=sentence(place),
            scale=plain(mark.scale),
            cam=plain(abs(mark.cam)),
        )
    ]
    body = {"before_tdc": mark.before, "mark": mark.scale, "cam": mark.cam}
    if args.diameter is None:
        return Answer(body, lines)
    along = trade.arc(float(abs(mark.before)), float(in_unit(args.diameter, "mm", "--diameter")))
    lines.append(tell("reckon-along-rim-from-top-mark", along=figures(along)))
    return Answer({**body, "arc_mm": along}, lines, rounding=tell("reckon-arc-to-four-figures"))


def _valves(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import crank as trade

    if args.durations is not None:
        if args.separation is None:
            raise BayError(
                tell("reckon-lobe-separation-is-missing"), "--separation", tell("reckon-give-with-durations")
            )
        intake, outlet = _pair(args.durations, "--durations")
        separation, advance = number(args.separation, "--separation"), number(args.advance, "--advance")
        found = trade.events(intake, outlet, separation, advance)
        lines = [
            tell(
                "reckon-inlet-opens-and-closes",
                opens=_side(found.inlet_opens_before_top, "before"),
                closes=_side(-found.inlet_closes_after_bottom, "after"),
            ),
            tell(
                "reckon-exhaust-opens-and-closes",
                opens=_side(found.exhaust_opens_before_bottom, "before"),
                closes=_side(-found.exhaust_closes_after_top, "after"),
            ),
            tell("reckon-overlap-degrees", overlap=plain(found.overlap)),
        ]
        return Answer(
            {
                "inlet_opens_btdc": found.inlet_opens_before_top,
                "inlet_closes_abdc": found.inlet_closes_after_bottom,
                "exhaust_opens_bbdc": found.exhaust_opens_before_bottom,
                "exhaust_closes_atdc": found.exhaust_closes_after_top,
                "overlap": found.overlap,
            },
            lines,
        )
    if args.inlet is None and args.exhaust is None:
        raise BayError(tell("reckon-nothing-to-work-out"), "", tell("reckon-give-inlet-exhaust-or-both"))
    body: dict[str, Decimal] = {}
    lines = []
    if args.inlet is not None:
        opens, closes = _pair(args.inlet, "--inlet")
        timing = trade.inlet(opens, closes)
        body |= {"inlet_duration": timing.duration, "inlet_centreline": timing.centreline}
        lines.append(
            tell(
                "reckon-inlet-open-for-duration-degrees",
                duration=plain(timing.duration),
                centreline=plain(timing.centreline),
            )
        )
    if args.exhaust is not None:
        opened, shut = _pair(args.exhaust, "--exhaust")
        timing = trade.exhaust(opened, shut)
        body |= {"exhaust_duration": timing.duration, "exhaust_centreline": timing.centreline}
        lines.append(
            tell(
                "reckon-exhaust-open-for-duration-degrees",
                duration=plain(timing.duration),
                centreline=plain(timing.centreline),
            )
        )
    if args.inlet is not None and args.exhaust is not None:
        body["overlap"] = trade.overlap(_pair(args.inlet, "--inlet")[0], _pair(args.exhaust, "--exhaust")[1])
        lines.append(tell("reckon-overlap-degrees", overlap=plain(body["overlap"])))
    return Answer(body, lines)


def _pair(text: str, what: str) -> tuple[Decimal, Decimal]:
    found = numbers(text, what)
    if len(found) != 2:
        raise BayError(tell("reckon-not-two-numbers", text=text), what, tell("reckon-write-them-like-6-42"))
    return found[0], found[1]


def _side(before: Decimal, nought: Literal["before", "after"]) -> str:
    """Degrees before a dead centre; below 0 they are after it, and `nought` says which word 0 gets."""
    side = "before" if before > 0 else "after" if before < 0 else nought
    return tell(f"reckon-degrees-{side}", degrees=plain(abs(before)))


def _chain(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import chain as trade

    pitch = trade.pitch_of(args.chain) if args.chain is not None else in_unit(args.pitch, "mm", "--pitch")
    if args.measured is not None:
        measured = in_unit(args.measured, "mm", "--measured")
    elif args.inside is not None and args.outside is not None:
        measured = trade.between_rollers(
            in_unit(args.inside, "mm", "--inside"), in_unit(args.outside, "mm", "--outside")
        )
    else:
        raise BayError(
            tell("reckon-measured-length-is-missing"), "--measured", tell("reckon-give-or-inside-and-outside")
        )
    found = trade.elongation(pitch, whole(args.pitches, "--pitches"), measured)
    limit = trade.limit(wholes(args.teeth, "--teeth"), args.fixed_centres)
    if args.limit is not None:
        own = number(args.limit, "--limit")
        if own <= 0:
            raise BayError(
                tell("reckon-limit-of-own-percent-is-not-possible", own=own), "--limit", tell("reckon-give-one-above-0")
            )
        if own < limit.percent:
            limit = trade.Limit(own, tell("reckon-makers-own"))
    worn = found.percent >= limit.percent
    lines = [
        tell(
            "reckon-measured-mm-instead-of-new",
            measured=plain(found.measured),
            new_length=plain(found.new_length),
            percent=f"{found.percent:+.2f}",
        ),
        tell(
            "reckon-chain-worn-out" if worn else "reckon-chain-within-limit",
            percent=figures(limit.percent, 3),
            rule=limit.rule,
        ),
    ]
    body = {
        "new_length_mm": found.new_length,
        "measured_mm": found.measured,
        "percent": found.percent,
        "limit_percent": limit.percent,
        "rule": limit.rule,
    }
    return Answer(body, lines, in_order=not worn, rounding=tell("reckon-percent-to-two-places-judged"))


def _shim(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.bearing import choose_shims, end_float

    if args.end_float is not None:
        measured = in_unit(args.end_float, "mm", "--float")
    elif args.pushed is not None and args.pulled is not None:
        measured = end_float(in_unit(args.pushed, "mm", "--pushed"), in_unit(args.pulled, "mm", "--pulled"))
    else:
        raise BayError(tell("reckon-end-float-is-missing"), "--float", tell("reckon-give-or-pushed-and-pulled"))
    found = choose_shims(
        measured,
        in_unit(args.low, "mm", "--low"),
        in_unit(args.high, "mm", "--high"),
        numbers(args.stock, "--stock"),
        in_unit(args.fitted, "mm", "--fitted"),
        not args.closes,
        whole(args.most, "--most"),
        not args.single,
    )
    pack = " + ".join(plain(shim) for shim in found.shims)
    lines = [
        tell("reckon-fit-pack-mm-total-in-all", pack=pack, total=plain(found.total))
        if found.shims
        else tell("reckon-fit-no-shim"),
        tell("reckon-expect-expected-mm-of-end", expected=plain(found.expected)),
    ]
    body = {
        "measured_mm": measured,
        "shims_mm": list(found.shims),
        "total_mm": found.total,
        "expected_mm": found.expected,
        "wanted_total_mm": [found.wanted_low, found.wanted_high],
    }
    return Answer(body, lines)


def _flatness(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.flatness import flatness, grid

    rows = [
        [None if word == "-" else number(word, tell("reckon-reading")) for word in row.replace(",", " ").split()]
        for row in args.rows
    ]
    points = grid(rows, in_unit(args.across, "mm", "--across"), in_unit(args.down, "mm", "--down"))
    found = flatness(points)
    lines = [
        tell("reckon-flatness-minimum-zone-mm-two", minimum_zone=figures(found.minimum_zone), points=found.points),
        tell(
            "reckon-about-least-squares-plane-mm",
            least_squares=figures(found.least_squares),
            as_read=plain(found.as_read),
        ),
    ]
    body = {
        "points": found.points,
        "minimum_zone_mm": found.minimum_zone,
        "least_squares_mm": found.least_squares,
        "as_read_mm": found.as_read,
    }
    flat = True
    if args.limit is not None:
        limit = in_unit(args.limit, "mm", "--limit")
        flat = found.minimum_zone <= limit
        body["limit_mm"] = limit
        lines.append(tell("reckon-flat-within" if flat else "reckon-flat-not-within", limit=plain(limit)))
    return Answer(body, lines, in_order=flat, rounding=tell("reckon-rounded-to-four-figures-judged"))
