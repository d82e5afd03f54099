"""A page in plain HTML: escaped text, landmarks, headings, tables; in light, in the dark and on paper.

Text comes in as `str` and is escaped here. Only what was made here is `Html`. The policy of the page forbids
scripts and every request. So even a hole in the escaping could neither run nor send anything.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from typing import NewType

Html = NewType("Html", str)
"""Finished markup. Never made from logged text without `text`."""

NOTHING = Html("")
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"


def text(anything: object) -> Html:
    """Markup that shows a text as it is. Control and direction characters are dropped."""
    return Html(escape("".join(_shown(c) for c in str(anything))))


def _shown(character: str) -> str:
    if character.isprintable() or character in "\n\t\u00a0":
        return character
    return " " if character.isspace() else ""


def join(parts: Iterable[Html], between: str = "\n") -> Html:
    """Pieces of markup, one after another."""
    return Html(between.join(parts))


def paragraph(content: str, kind: str = "") -> Html:
    """A paragraph of text."""
    return Html(f'<p class="{kind}">{text(content)}</p>' if kind else f"<p>{text(content)}</p>")


def items(contents: Sequence[str]) -> Html:
    """A list of sentences."""
    return Html("<ul>" + "".join(f"<li>{text(one)}</li>" for one in contents) + "</ul>")


def tiles(facts: Sequence[tuple[str, str, str]]) -> Html:
    """The figures to be read first, each with its label and a remark."""
    shown = "".join(
        f"<div><dt>{text(label)}</dt><dd><b>{text(figure)}</b> <span>{text(remark)}</span></dd></div>"
        for label, figure, remark in facts
    )
    return Html(f'<dl class="tiles">{shown}</dl>')


def table(caption: str, heads: Sequence[str], rows: Sequence[Sequence[object]], words: int = 1) -> Html:
    """A table. The first cell of a row names it. The first `words` columns are words, the others numbers."""
    side = ["" if n < words else ' class="n"' for n in range(len(heads))]
    head = "".join(f'<th scope="col"{s}>{text(h)}</th>' for h, s in zip(heads, side, strict=True))
    body = []
    for row in rows:
        cells = [f"<td{s}>{text(c)}</td>" for c, s in zip(row, side, strict=True)]
        cells[0] = f'<th scope="row">{text(row[0])}</th>'
        body.append(f"<tr>{''.join(cells)}</tr>")
    return Html(
        f'<div class="wide" role="region" tabindex="0" aria-label="{text(caption)}"><table>'
        f"<caption>{text(caption)}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{''.join(body)}</tbody></table></div>"
    )


@dataclass(frozen=True)
class Picture:
    """A chart as markup. Its name tells it apart from the others of the page, for whoever does not see it."""

    name: str
    markup: Html


def figure(picture: Picture, caption: str, figures: Html, brief: Html = NOTHING) -> Html:
    """A chart with a caption, and its figures as a table for whoever does not read the chart.

    Args:
        brief: the same in words. A screen too narrow for the chart shows it instead: in a chart that scrolls
            sideways, the part that matters may be out of sight.

    The figure, what scrolls in it and the disclosure all have the name of the picture. A screen reader lists
    each of them by its name alone, without the caption or the heading above.

    The table follows the disclosure and does not lie in it. So the style can show it on paper, where only a
    script could open a closed disclosure.
    """
    name = text(picture.name)
    wide = " replaced" if brief else ""
    words = f'<div class="brief">{brief}</div>' if brief else ""
    caption_kind = ' class="replaced"' if brief else ""
    return Html(
        f'<figure aria-label="{name}"><div class="wide chart{wide}" role="region" tabindex="0" '
        f'aria-label="Chart: {name}">{picture.markup}</div>{words}'
        f"<figcaption{caption_kind}>{text(caption)}</figcaption></figure>"
        f'<details><summary>The same as a table<span class="unseen">: {name}</span></summary>'
        f'</details><div class="figures">{figures}</div>'
    )


def screen_only(markup: Html, instead: str = "") -> Html:
    """Something that paper has no room for, and what paper says instead."""
    return join([Html(f'<div class="screen">{markup}</div>'), *([paper_only(instead)] if instead else [])])


def paper_only(words: str) -> Html:
    """A sentence that only paper has."""
    return paragraph(words, "paper")


def section(name: str, heading: str, *content: Html) -> Html:
    """A part of the page; `name` is its anchor."""
    return Html(
        f'<section id="{text(name)}" aria-labelledby="{text(name)}-h">'
        f'<h2 id="{text(name)}-h">{text(heading)}</h2>{join(content)}</section>'
    )


def page(
    title: str,
    lead: str,
    sections: Sequence[tuple[str, str, Html]],
    foot: Sequence[str] = (),
    head: Html = NOTHING,
    style: str = "",
) -> str:
    """The whole page.

    Args:
        sections: (anchor, heading, markup) of each part.
        foot: paragraphs at the end.
        head: what comes before the first section.
        style: CSS of this page alone, after the one that all pages share.
    """
    links = "".join(f'<li><a href="#{text(name)}">{text(heading)}</a></li>' for name, heading, _ in sections)
    menu = f'<nav aria-label="Parts of the page"><ul>{links}</ul></nav>' if len(sections) > 1 else ""
    body = join(section(name, heading, content) for name, heading, content in sections)
    foot_html = join(paragraph(line) for line in foot)
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<title>{text(title)}</title>
<style>{STYLE}{style}</style>
</head>
<body>
<a class="skip" href="#main">Skip to the content</a>
<header><h1>{text(title)}</h1>{paragraph(lead, "lead")}{menu}</header>
<main id="main">
{head}
{body}
</main>
<footer>{foot_html}</footer>
</body>
</html>
"""


STYLE = """
:root{--page:#f6f6f3;--card:#fff;--ink:#16181a;--soft:#4c5054;--line:#dcdcd6;--grid:#e6e6e1;--blue:#1f66b8;
--pale:#a9c8ec;--red:#b1421a;--night:#eceae4;--c1:#1f66b8;--c2:#b1421a;--c3:#2a7a4b;--c4:#7a4fa3;--c5:#7a6a1c}
@media (prefers-color-scheme:dark){:root{--page:#131416;--card:#1c1e20;--ink:#f2f2ef;--soft:#b9bcc0;
--line:#36393d;--grid:#2c2f33;--blue:#6ea8ec;--pale:#2f4f78;--red:#f0906a;--night:#26282b;--c1:#6ea8ec;
--c2:#f0906a;--c3:#6cc491;--c4:#c39be8;--c5:#d6c25a}}
*{box-sizing:border-box}
body{margin:0;background:var(--page);color:var(--ink);font:16px/1.5 system-ui,"Segoe UI",Roboto,sans-serif}
header,main,footer{max-width:64rem;margin:0 auto;padding:0 1.25rem}
header{padding-top:2rem}
h1{font-size:1.75rem;line-height:1.2;margin:0 0 .25rem}
h2{font-size:1.2rem;margin:0 0 .25rem}
h3{font-size:1rem;margin:1.25rem 0 .25rem}
p{margin:.4rem 0;max-width:46rem}
.lead,figcaption,footer{color:var(--soft)}
nav ul{list-style:none;display:flex;flex-wrap:wrap;gap:.25rem 1.25rem;padding:0;margin:.75rem 0 0}
a{color:var(--blue)}
section{background:var(--card);border:1px solid var(--line);border-radius:8px;padding:1.1rem 1.25rem;
margin:1rem 0}
.tiles{display:grid;grid-template-columns:repeat(auto-fit,minmax(11rem,1fr));gap:.75rem;margin:1rem 0}
.tiles div{background:var(--card);border:1px solid var(--line);border-radius:8px;padding:.7rem 1rem}
.tiles dt,.tiles span{color:var(--soft);font-size:.875rem}
.tiles dd{margin:0}
.tiles b{display:block;font-size:1.6rem;line-height:1.25;font-weight:600}
ul{padding-left:1.2rem;margin:.5rem 0;max-width:46rem}
figure{margin:.75rem 0 .5rem}figcaption{margin-top:.6rem}
figcaption{font-size:.9rem;max-width:46rem}
.wide{overflow-x:auto}
.wide:focus-visible,a:focus-visible,summary:focus-visible{outline:3px solid var(--blue);outline-offset:2px}
.chart svg{display:block;width:100%;min-width:40rem;height:auto}
details{margin:.5rem 0}
@media not print{.paper{display:none}}
.brief{display:none}
@media screen and (max-width:44rem){.replaced{display:none}.brief{display:block}}
@media not print{details:not([open])+.figures{display:none}}
summary{cursor:pointer;color:var(--blue);font-size:.9rem;width:max-content}
table{border-collapse:collapse;font-size:.9rem;width:100%;font-variant-numeric:tabular-nums}
caption{text-align:left;color:var(--soft);padding:.35rem 0}
th,td{text-align:left;vertical-align:top;padding:.3rem .9rem .3rem 0;border-bottom:1px solid var(--grid)}
th{font-weight:600}tbody th{font-weight:400}
th.n,td.n{text-align:right;white-space:nowrap}
thead th.n{white-space:normal}
td{overflow-wrap:anywhere;white-space:pre-line}tbody th,td:not(.n){min-width:6.5em}
.skip,.unseen{position:absolute;left:-999rem}
.skip:focus{left:1rem;top:1rem;background:var(--card);padding:.5rem 1rem}
footer{padding-bottom:2rem;font-size:.875rem}
svg text{font:13px system-ui,"Segoe UI",Roboto,sans-serif;fill:var(--ink)}
svg .soft{fill:var(--soft)}svg .small{font-size:12px}svg .end{text-anchor:end}svg .mid{text-anchor:middle}
svg .grid{stroke:var(--grid);stroke-width:1}svg .book{stroke:var(--ink);stroke-width:1.5}
svg .axis{stroke:var(--soft);stroke-width:1}svg .night{fill:var(--night)}
svg .bar{fill:var(--blue)}svg .pale{fill:var(--pale);stroke:var(--blue)}svg .over{fill:var(--red)}
svg .range{stroke:var(--soft);stroke-width:2;fill:none}
svg .wait{stroke:var(--red);stroke-width:2;stroke-dasharray:2 4}
svg .trend{stroke:var(--ink);stroke-width:2;fill:none}svg .ring{fill:var(--card);stroke-width:2}
svg .s1{fill:var(--c1);stroke:var(--c1)}svg .s2{fill:var(--c2);stroke:var(--c2)}
svg .s3{fill:var(--c3);stroke:var(--c3)}
svg .s4{fill:var(--c4);stroke:var(--c4)}svg .s5{fill:var(--c5);stroke:var(--c5)}
svg .hollow{fill:var(--card)}
@media print{.screen{display:none}}
@media print{:root{--page:#fff;--card:#fff;--ink:#000;--soft:#333;--line:#999;--grid:#ccc;--blue:#1f66b8;
--pale:#a9c8ec;--red:#b1421a;--night:#eee;--c1:#1f66b8;--c2:#b1421a;--c3:#2a7a4b;--c4:#7a4fa3;--c5:#7a6a1c}
body{font-size:10.5pt}nav,.skip,details{display:none}header,main,footer{max-width:none;padding:0}
section{border:0;padding:0;margin:1.2rem 0}figure,tr,.tiles{break-inside:avoid}h2,h3{break-after:avoid}
table{font-size:8.5pt}th,td{padding:.15rem .6rem .15rem 0}
.wide{overflow:visible}.chart svg{min-width:0}@page{margin:15mm}}
"""
