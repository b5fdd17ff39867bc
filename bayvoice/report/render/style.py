"""The look of the HTML report: one style sheet, nothing fetched."""

from __future__ import annotations

from typing import Final

LIGHT: Final = {
    "ground": "#ffffff",
    "panel": "#f1f3f0",
    "ink": "#171a16",
    "quiet": "#444b42",
    "rule": "#b9c0b5",
    "good": "#0f4d2a",
    "bad": "#8b1a0f",
    "near": "#664400",
    "band": "#bfe0c8",
    "trail": "#33536b",
}
DARK: Final = {
    "ground": "#141713",
    "panel": "#1f241e",
    "ink": "#edf0ea",
    "quiet": "#bfc7ba",
    "rule": "#4d564a",
    "good": "#9be3b1",
    "bad": "#ffb3a6",
    "near": "#f2d184",
    "band": "#2c5a3b",
    "trail": "#a9cbe4",
}
"""Colours by use. Every text colour (ink, quiet, good, bad, near) has 7:1 or more on ground and panel (WCAG 2.2,
SC 1.4.6)."""

PAPER: Final = LIGHT | {"panel": "#ffffff"}


def _variables(colours: dict[str, str]) -> str:
    return "".join(f"--{name}:{colour};" for name, colour in colours.items())


SHEET: Final = f"""
:root{{color-scheme:light dark;{_variables(LIGHT)}}}
@media (prefers-color-scheme:dark){{:root{{{_variables(DARK)}}}}}
*{{box-sizing:border-box}}
body{{margin:0 auto;padding:2rem 1.5rem 4rem;max-width:72rem;background:var(--ground);color:var(--ink);
font:16px/1.5 system-ui,"Noto Sans","DejaVu Sans",sans-serif;overflow-wrap:break-word}}
h1{{font-size:1.9rem;line-height:1.2;margin:0 0 1rem}}
h2{{font-size:1.2rem;margin:2.5rem 0 .5rem;padding-top:.6rem;border-top:2px solid var(--ink)}}
h3{{font-size:1rem;margin:.9rem 0 0;color:var(--quiet)}}
p{{margin:.3rem 0}}
/* Of a record that does not hold nothing looks good, and every section says so. */
.doubt{{--good:var(--quiet);--band:var(--rule)}}
.doubt h2::after{{content:"not proven";color:var(--bad);font-size:.8em;font-weight:700;margin-left:.8em;
white-space:nowrap}}
.kicker{{color:var(--quiet);margin:0 0 .2rem}}
.result{{border-left:.6rem solid var(--good);background:var(--panel);padding:.8rem 1.1rem;margin:0 0 1.2rem}}
.result.off{{border-left-color:var(--bad)}}
.result strong{{display:block;font-size:1.6rem;line-height:1.25;color:var(--good)}}
.result.off strong{{color:var(--bad)}}
.broken{{color:var(--bad);font-weight:700}}
dl{{display:grid;grid-template-columns:repeat(auto-fit,minmax(15rem,1fr));gap:.7rem 2rem;margin:0}}
dt{{color:var(--quiet);font-size:.88em}}
dd{{margin:0;font-weight:600;overflow-wrap:anywhere}}
ol.deviations{{padding-left:2rem;margin:.4rem 0}}
ol.deviations li>div{{display:flex;flex-wrap:wrap;justify-content:space-between;gap:0 1.5rem}}
ol.deviations li{{padding:.38rem 0;border-bottom:1px solid var(--rule)}}
ol.deviations li::marker{{color:var(--bad);font-weight:700}}
@media (max-width:34rem){{body{{padding:1.2rem 1rem 3rem}}dl{{grid-template-columns:1fr 1fr;gap:.6rem 1rem}}}}
.where{{font-weight:700;margin-right:.4em}}
.who{{color:var(--quiet);font-size:.9em;white-space:nowrap}}
.scroll{{overflow-x:auto}}
table{{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums;font-size:.94rem}}
caption{{text-align:left;color:var(--quiet);padding:.2rem 0 .4rem}}
.heard{{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}}
th,td{{text-align:left;vertical-align:top;padding:.35rem .7rem .35rem 0;border-bottom:1px solid var(--rule)}}
thead th{{border-bottom:2px solid var(--ink);font-size:.94em;white-space:nowrap}}
tbody th{{font-weight:600;white-space:nowrap}}
td.off{{color:var(--bad);font-weight:700;white-space:nowrap}}
td s{{color:var(--quiet)}}
td small{{display:block;color:var(--quiet);font-size:.9em}}
.nowrap{{white-space:nowrap}}
.gauge{{min-width:7rem}}
.nowrap small{{white-space:normal;max-width:15rem}}
svg{{display:block;overflow:visible}}
.axis{{stroke:var(--quiet);stroke-width:1;fill:none}}
.band{{fill:var(--band);stroke:var(--good);stroke-width:1}}
.limit{{stroke:var(--ink);stroke-width:2;fill:none}}
.trail{{stroke:var(--trail);stroke-width:4;fill:none}}
.mark{{stroke:var(--ground);stroke-width:1.5}}
.fits{{fill:var(--good)}}
.misses{{fill:var(--bad)}}
.near{{fill:var(--near)}}
.guard{{fill:var(--rule);opacity:.75}}
.tick{{stroke:var(--trail);stroke-width:1.5;fill:none}}
.grid{{stroke:var(--rule);stroke-width:1;fill:none}}
.median{{stroke:var(--quiet);stroke-width:1.5;stroke-dasharray:7 5;fill:none}}
.joined{{stroke:var(--trail);stroke-width:1.5;fill:none}}
.pace{{fill:var(--trail)}}
.slow{{fill:var(--bad)}}
svg text{{fill:var(--ink);font:13px system-ui,"Noto Sans","DejaVu Sans",sans-serif}}
svg .small{{fill:var(--quiet);font-size:11.5px}}
.middle{{text-anchor:middle}}
.end{{text-anchor:end}}
figure{{margin:.4rem 0}}
figcaption{{color:var(--quiet);font-size:.88rem}}
audio{{display:block;width:22rem;max-width:100%;height:2.4rem;margin:.3rem 0 1rem}}
.word{{font-weight:700}}
table.bolts{{width:auto;min-width:50%;margin-top:1.2rem}}
svg.timeline,svg.run{{width:100%;height:auto;min-width:38rem}}
ul{{padding-left:1.3rem;margin:.4rem 0}}
blockquote{{margin:.3rem 0 1rem;padding:.3rem 0 .3rem 1rem;border-left:4px solid var(--rule);white-space:pre-wrap;
overflow-wrap:anywhere}}
.facts{{font-size:.85rem}}
.facts td:last-child{{overflow-wrap:anywhere}}
footer{{margin-top:2.5rem;color:var(--quiet);font-size:.88rem}}
@page{{size:A4;margin:15mm 14mm 16mm;@bottom-right{{content:counter(page) " / " counter(pages);font:9pt sans-serif}}}}
@media print{{
:root{{color-scheme:light;{_variables(PAPER)}}}
body{{max-width:none;padding:0;font-size:10pt;line-height:1.4}}
h1{{font-size:18pt}}h2{{font-size:12.5pt;margin-top:6mm;break-after:avoid}}h3{{font-size:9.5pt;break-after:avoid}}
.result,dl{{break-inside:avoid}}
dl{{grid-template-columns:repeat(4,1fr);gap:2mm 5mm;font-size:9pt}}
table{{font-size:8.5pt}}.facts{{font-size:7.5pt}}
thead{{display:table-header-group}}tr,ol.deviations li{{break-inside:avoid}}
caption{{break-after:avoid}}
ol.deviations,ul{{font-size:9pt}}figcaption,svg text{{font-size:8pt}}.gauge{{min-width:24mm}}
.scroll{{overflow:visible}}.whole,blockquote{{break-inside:avoid}}.kicker{{break-after:avoid}}
svg{{width:32mm;height:auto}}svg.timeline,svg.run{{width:100%;min-width:0}}audio{{display:none}}
svg{{print-color-adjust:exact;-webkit-print-color-adjust:exact}}
}}
"""
