"""Subjects of running gear: crank, valves, chain, shim, flatness."""

from __future__ import annotations

import argparse
from decimal import Decimal

from bayvoice.errors import BayError
from bayvoice.reckon.answer import Answer, figures, plain
from bayvoice.reckon.inputs import in_unit, number, numbers, whole, wholes
from bayvoice.reckon.subject import Subjects


def add(subjects: Subjects) -> None:
    """Declare the subjects."""
    crank = subjects.add(
        "crank", "crank marks: before or after top dead centre, pulley scale, cam, teeth", "--before-tdc 42", _crank
    )
    what = crank.add_mutually_exclusive_group(required=True)
    what.add_argument("--before-tdc", metavar="DEGREES", help="where is it on the 0 to 360 scale")
    what.add_argument("--after-tdc", metavar="DEGREES")
    what.add_argument("--mark", metavar="DEGREES", help="a mark of the scale: where is it to top dead centre")
    what.add_argument("--teeth-off", metavar="N", help="a belt or chain sits N teeth off; with --teeth")
    crank.add_argument("--teeth", metavar="N", help="of the sprocket it is off on")
    crank.add_argument("--on-crank", action="store_true", help="that sprocket is the crank's (default: the cam's)")
    crank.add_argument("--diameter", metavar="LENGTH", help="of the pulley: also how far along its rim")

    valves = subjects.add(
        "valves",
        "valve timing: events into duration, centreline and overlap, or a cam card into events",
        "--inlet 6,42 --exhaust 42,12",
        _valves,
    )
    valves.add_argument("--inlet", metavar="BTDC,ABDC", help="inlet opens before top, closes after bottom")
    valves.add_argument("--exhaust", metavar="BBDC,ATDC", help="exhaust opens before bottom, closes after top")
    valves.add_argument("--durations", metavar="INLET,EXHAUST", help="a cam card, with --separation")
    valves.add_argument("--separation", metavar="DEGREES", help="lobe separation angle")
    valves.add_argument("--advance", default="0", metavar="DEGREES")

    chain = subjects.add(
        "chain",
        "elongation of a roller chain over some pitches, and whether it is worn out",
        '--chain 12B --pitches 24 --measured "462.3 mm" --teeth 19,57',
        _chain,
    )
    which = chain.add_mutually_exclusive_group(required=True)
    which.add_argument("--chain", metavar="12B", help="designation")
    which.add_argument("--pitch", metavar="LENGTH")
    chain.add_argument("--pitches", required=True, metavar="N", help="measured over, 6 or more")
    chain.add_argument("--measured", metavar="LENGTH", help="from roller to the same side of the last roller")
    chain.add_argument("--inside", metavar="LENGTH", help="or: between the two rollers, with --outside")
    chain.add_argument("--outside", metavar="LENGTH", help="over the two rollers")
    chain.add_argument("--teeth", default="", metavar="N,N", help="of the sprockets: for the limit")
    chain.add_argument("--fixed-centres", action="store_true", help="nothing takes up the slack: 1.5 percent")
    chain.add_argument("--limit", metavar="PERCENT", help="the maker's own limit, if it is lower")

    shim = subjects.add(
        "shim",
        "shims from a set that bring an end float within its limits",
        "--float 0.02 --low 0.05 --high 0.15 --fitted 0.35 --stock 0.05,0.10,0.20,0.50",
        _shim,
        "Millimetres unless a unit is given; measure again with the new pack.",
    )
    shim.add_argument("--float", dest="end_float", metavar="LENGTH", help="measured with the pack that is fitted")
    shim.add_argument("--pushed", metavar="LENGTH", help="or the two readings of the dial gauge")
    shim.add_argument("--pulled", metavar="LENGTH")
    shim.add_argument("--low", required=True, metavar="LENGTH")
    shim.add_argument("--high", required=True, metavar="LENGTH")
    shim.add_argument("--stock", required=True, metavar="T,T,…", help="thicknesses at hand, millimetres")
    shim.add_argument("--fitted", default="0", metavar="LENGTH", help="total of the fitted pack (default 0)")
    shim.add_argument("--closes", action="store_true", help="a thicker pack takes float away")
    shim.add_argument("--most", default="3", metavar="N", help="shims in a pack (default 3)")
    shim.add_argument("--single", action="store_true", help="--stock names every single shim, each is there once")

    flat = subjects.add(
        "flatness",
        "flatness of a face from a grid of feeler or dial readings",
        '"0.00 0.02 0.04" "0.01 0.05 0.05" "0.02 0.04 0.06" --across 50 --down 40 --limit 0.05',
        _flatness,
        "One argument for each row of readings, in millimetres; a dash where there is none.",
    )
    flat.add_argument("rows", nargs="+", metavar="ROW")
    flat.add_argument("--across", default="1", metavar="LENGTH", help="distance of neighbours in a row (default 1)")
    flat.add_argument("--down", default="1", metavar="LENGTH", help="distance of the rows (default 1)")
    flat.add_argument("--limit", metavar="LENGTH", help="flatness allowed")


def _crank(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import crank as trade

    if args.teeth_off is not None:
        if args.teeth is None:
            raise BayError("the number of teeth of the sprocket is missing", "--teeth", "give it, like --teeth 40")
        off, teeth = whole(args.teeth_off, "--teeth-off"), whole(args.teeth, "--teeth")
        error = trade.tooth_offset(off, teeth, not args.on_crank)
        line = (
            f"{off} of {teeth} teeth off is {figures(error.crank)} degrees at the crank, "
            f"{figures(error.cam)} at the cam."
        )
        body = {"teeth_off": off, "teeth": teeth, "crank": error.crank, "cam": error.cam}
        return Answer(body, [line], rounding="rounded to four figures")
    if args.mark is not None:
        mark = trade.at_mark(in_unit(args.mark, "deg", "--mark"))
    elif args.before_tdc is not None:
        mark = trade.before_top(in_unit(args.before_tdc, "deg", "--before-tdc"))
    else:
        mark = trade.before_top(-in_unit(args.after_tdc, "deg", "--after-tdc"))
    place = (
        "top dead centre"
        if not mark.before
        else f"{plain(abs(mark.before))} degrees {'before' if mark.before > 0 else 'after'} top dead centre"
    )
    if abs(mark.before) == 180:
        place = "bottom dead centre"
    lines = [
        f"{place[:1].upper()}{place[1:]} is the {plain(mark.scale)} degree mark; "
        f"the cam is {plain(abs(mark.cam))} degrees from there."
    ]
    body = {"before_tdc": mark.before, "mark": mark.scale, "cam": mark.cam}
    if args.diameter is None:
        return Answer(body, lines)
    along = trade.arc(float(abs(mark.before)), float(in_unit(args.diameter, "mm", "--diameter")))
    lines.append(f"Along the rim from the top mark: {figures(along)} mm.")
    return Answer({**body, "arc_mm": along}, lines, rounding="the arc to four figures")


def _valves(args: argparse.Namespace) -> Answer:
    from bayvoice.trade import crank as trade

    if args.durations is not None:
        if args.separation is None:
            raise BayError("the lobe separation is missing", "--separation", "give it with --durations")
        intake, outlet = _pair(args.durations, "--durations")
        separation, advance = number(args.separation, "--separation"), number(args.advance, "--advance")
        found = trade.events(intake, outlet, separation, advance)
        lines = [
            f"Inlet opens {_side(found.inlet_opens_before_top, 'before', 'after')} top, closes "
            f"{_side(found.inlet_closes_after_bottom, 'after', 'before')} bottom dead centre.",
            f"Exhaust opens {_side(found.exhaust_opens_before_bottom, 'before', 'after')} bottom, closes "
            f"{_side(found.exhaust_closes_after_top, 'after', 'before')} top dead centre.",
            f"Overlap {plain(found.overlap)} degrees.",
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
        raise BayError("there is nothing to work out", "", "give --inlet, --exhaust or both, or --durations")
    body: dict[str, Decimal] = {}
    lines = []
    if args.inlet is not None:
        opens, closes = _pair(args.inlet, "--inlet")
        timing = trade.inlet(opens, closes)
        body |= {"inlet_duration": timing.duration, "inlet_centreline": timing.centreline}
        lines.append(f"Inlet: open for {plain(timing.duration)} degrees, centre {plain(timing.centreline)} after top.")
    if args.exhaust is not None:
        opened, shut = _pair(args.exhaust, "--exhaust")
        timing = trade.exhaust(opened, shut)
        body |= {"exhaust_duration": timing.duration, "exhaust_centreline": timing.centreline}
        lines.append(
            f"Exhaust: open for {plain(timing.duration)} degrees, centre {plain(timing.centreline)} before top."
        )
    if args.inlet is not None and args.exhaust is not None:
        body["overlap"] = trade.overlap(_pair(args.inlet, "--inlet")[0], _pair(args.exhaust, "--exhaust")[1])
        lines.append(f"Overlap {plain(body['overlap'])} degrees.")
    return Answer(body, lines)


def _pair(text: str, what: str) -> tuple[Decimal, Decimal]:
    found = numbers(text, what)
    if len(found) != 2:
        raise BayError(f'"{text}" is not two numbers', what, "write them like 6,42")
    return found[0], found[1]


def _side(degrees: Decimal, one: str, other: str) -> str:
    return f"{plain(abs(degrees))} {one if degrees >= 0 else other}"


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
        raise BayError("the measured length is missing", "--measured", "give it, or --inside and --outside")
    found = trade.elongation(pitch, whole(args.pitches, "--pitches"), measured)
    limit = trade.limit(wholes(args.teeth, "--teeth"), args.fixed_centres)
    if args.limit is not None:
        own = number(args.limit, "--limit")
        if own <= 0:
            raise BayError(f"a limit of {own} percent is not possible", "--limit", "give one above 0")
        if own < limit.percent:
            limit = trade.Limit(own, "the maker's own")
    worn = found.percent >= limit.percent
    lines = [
        f"{plain(found.measured)} mm instead of {plain(found.new_length)} mm: {found.percent:+.2f} percent.",
        f"{'Worn out' if worn else 'Within the limit'}: {figures(limit.percent, 3)} percent ({limit.rule}).",
    ]
    body = {
        "new_length_mm": found.new_length, "measured_mm": found.measured, "percent": found.percent,
        "limit_percent": limit.percent, "rule": limit.rule,
    }  # fmt: skip
    return Answer(body, lines, in_order=not worn, rounding="percent to two places; judged unrounded")


def _shim(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.bearing import choose_shims, end_float

    if args.end_float is not None:
        measured = in_unit(args.end_float, "mm", "--float")
    elif args.pushed is not None and args.pulled is not None:
        measured = end_float(in_unit(args.pushed, "mm", "--pushed"), in_unit(args.pulled, "mm", "--pulled"))
    else:
        raise BayError("the end float is missing", "--float", "give it, or --pushed and --pulled")
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
    pack = " + ".join(plain(shim) for shim in found.shims) or "no shim"
    lines = [
        f"Fit {pack} mm, {plain(found.total)} mm in all." if found.shims else "Fit no shim.",
        f"Expect {plain(found.expected)} mm of end float; measure it again.",
    ]
    body = {
        "measured_mm": measured, "shims_mm": list(found.shims), "total_mm": found.total, "expected_mm": found.expected,
        "wanted_total_mm": [found.wanted_low, found.wanted_high],
    }  # fmt: skip
    return Answer(body, lines)


def _flatness(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.flatness import flatness, grid

    rows = [
        [None if word == "-" else number(word, "reading") for word in row.replace(",", " ").split()]
        for row in args.rows
    ]
    points = grid(rows, in_unit(args.across, "mm", "--across"), in_unit(args.down, "mm", "--down"))
    found = flatness(points)
    lines = [
        f"Flatness {figures(found.minimum_zone)} mm (minimum zone: two parallel planes hold all "
        f"{found.points} points).",
        f"About the least-squares plane {figures(found.least_squares)} mm; readings as they are, tilt and all, "
        f"{plain(found.as_read)} mm.",
    ]
    body = {
        "points": found.points, "minimum_zone_mm": found.minimum_zone, "least_squares_mm": found.least_squares,
        "as_read_mm": found.as_read,
    }  # fmt: skip
    flat = True
    if args.limit is not None:
        limit = in_unit(args.limit, "mm", "--limit")
        flat = found.minimum_zone <= limit
        body["limit_mm"] = limit
        lines.append(f"{'Within' if flat else 'More than'} the {plain(limit)} mm allowed.")
    return Answer(body, lines, in_order=flat, rounding="rounded to four figures; judged unrounded")
