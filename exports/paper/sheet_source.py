"""The shop sheet's pages in typst; every text comes from `d`, the data, and is set as a plain string."""

from __future__ import annotations

PAGES = r"""
#show: body => paper-style(d, body)

#let drawing(picture) = image(bytes(picture.svg), format: "svg", width: picture.width * 1mm, height: picture.height * 1mm,
  alt: picture.alt)

// ---- Cover ----
#[
  #set par(leading: 0.45em)
  #let long = d.name.len()
  #text(size: if long > 120 { 8pt } else if long > 70 { 11pt } else if long > 40 { 15pt } else { 20pt }, d.name)
]
#v(-1mm)
#text(size: 9pt, fill: quiet)[Shop sheet: a wooden body for the metal of a transitional plane. Set #d.digest.slice(0, 12),
  planestock #d.version.]
#if d.replaced { aside[A square □ stands for a letter that this type does not have.] }
#if d.note != "" { block(above: 3mm, text(size: 9pt, style: "italic", d.note)) }
#if d.failing.len() > 0 {
  block(stroke: wide, inset: 2.5mm, width: 100%, above: 4mm)[*This body fails its checks. Do not cut wood to it.*
    #d.failing.join(", ")]
}

== Key numbers
#figures(columns: (auto, auto, 1fr), align: (left, right, left), rows: d.numbers, plain: true, tight: true)

== Thickness
#align(center, drawing(d.gauge))
#for each in d.thickness { par(each) }
#aside(d.inches)

== Checks
#d.outcome
#if d.checks.len() > 0 {
  figures(columns: (auto, 1.1fr, auto, auto, 1.3fr), align: (left, left, right, right, left), size: 8.5pt,
    head: ("", "What was asked", "Is", "Limit", "What to change"), rows: d.checks)
}
#let page-of(label) = context counter(page).at(label).first()

#block(breakable: false, above: 5mm)[
  == Cautions <cautions>
  #set text(size: 8.5pt)
  #set par(leading: 0.5em, spacing: 0.6em)
  #for each in d.cautions { list.item(each) }
]
#aside[The order of work begins on page #page-of(<work>), tables on page #page-of(<tables>), full-size templates on page
  #page-of(<templates>).]

// ---- Order of work ----
#pagebreak()
= Order of work <work>
#aside(d.practice)
#{
  set text(size: 9.5pt)
  set par(leading: 0.52em)
  let counted = counter("stage")
  for stage in d.stages {
    let step(words) = block(above: 1.8mm, below: 0mm, inset: (left: 6mm), words)
    block(breakable: false, above: 3.6mm, below: 0mm, {
      counted.step()
      text(weight: "semibold", size: 10.5pt)[#box(width: 6mm, context counted.display())#stage.title]
      step(stage.steps.first())
    })
    for words in stage.steps.slice(1) { step(words) }
  }
}

// ---- Parts ----
#block(breakable: false, above: 7mm)[
  #text(size: 17pt)[Wood]
  #figures(columns: (auto, auto, 1fr, auto, auto) + (auto,) * (d.volume_heads.len() + 1), size: 8pt,
    align: (left, right, left) + (right,) * (d.volume_heads.len() + 3),
    head: ("Piece", "No.", "Wood", "Finished", "Rough") + d.volume_heads + ("Mass of one",), rows: d.pieces)
  #aside(d.to_buy)
]

#block(breakable: false)[
  == The mouth
  #align(center, drawing(d.section))
]
// ---- Layout table ----
#pagebreak()
= Layout table <tables>
#aside[Lengths from the toe, heights from the sole, widths from the middle of the finished body. Beside them stands the
nearest 1/64 in on a rule and what must be added to that mark to have the length: mark + error = length. What can be marked
from the metal itself, mark from the metal.]
#{
  show heading.where(level: 2): it => block(above: 4mm, below: 1.8mm, text(size: 12pt, weight: "semibold", it.body))
  let h = d.heads
  for part in d.layout {
    heading(level: 2, part.head)
    if part.rows.any(row => row.at(4) != "") {
      figures(columns: (1fr,) + (auto,) * 6, align: (left,) + (right,) * 6, tight: true,
        head: ("", h.from_toe, h.mark, h.error, h.up, h.mark, h.error), rows: part.rows)
    } else {
      figures(columns: (1fr,) + (auto,) * 3, align: (left,) + (right,) * 3, head: ("", h.from_toe, h.mark, h.error),
        tight: true, rows: part.rows.map(row => row.slice(0, 4)))
    }
  }
  heading(level: 2)[From the middle to either side]
  figures(columns: (auto, 1fr) + (auto,) * 3, align: (left, left) + (right,) * 3, tight: true,
    head: ("", h.where, h.from_middle, h.mark, h.error), rows: d.widths)
}

// ---- Holes and angles ----
#pagebreak()
= Holes and angles
#if d.drilling.len() == 0 [This body has no holes.] else {
  let more = d.heads.drill.len() - 6
  figures(columns: (auto, 1.7fr, auto, auto, auto) + (auto,) * more + (1.1fr,), size: 8pt,
  align: (left, left, right, right, left) + (right,) * more + (left,), tight: true, head: d.heads.drill, rows: d.drilling)
  for each in d.drill_notes { aside(each) }
}
#block(breakable: false)[
  == Angles
  #figures(columns: (1fr, auto, auto, auto, auto, auto), align: (left, left, right, right, left, right), tight: true,
    head: ("", "for", "from the sole", "from square", "leans", d.heads.slope), rows: d.angles)
  #aside[Rise : run sets a bevel gauge: mark run along a straight edge and rise square to it, and lay the gauge to both
  marks. A drill's angle holds with the body on its sole.]
]

#block(breakable: false, above: 6mm)[
  == #d.wear_title
  #align(center, drawing(d.wear))
  #aside(d.wear_note)
]
// ---- For whoever holds the metal ----
#pagebreak()
= For whoever holds the metal, the tote or the knob
#aside[This page can be sent on by itself. Only the numbers that the wood depends on are here; each stands in the set under
the path below it.]
#for part in d.holders {
  heading(level: 2, part.head)
  par(part.note)
  let half = calc.ceil(part.rows.len() / 2)
  let column(rows) = figures(columns: (1fr, auto), align: (left, right), size: 8.5pt, head: ("", "reading"),
    tight: true, rows: rows.map(row => if row.at(2) == "" { (table.cell(colspan: 2, strong(row.at(0))),) } else {
      ({ set par(leading: 0.3em); row.at(0); linebreak(); text(size: 7pt, fill: quiet, row.at(2)) }, row.at(1)) }))
  grid(columns: (1fr, 1fr), column-gutter: 8mm, column(part.rows.slice(0, half)),
    if part.rows.len() > half { column(part.rows.slice(half)) })
}

// ---- Templates ----
#pagebreak()
= Full-size templates <templates>
#for each in d.printing { enum.item(each) }
#v(2mm)
#figures(columns: (auto, auto, auto), align: (right, right, right), rows: d.off, size: 9pt, tight: true,
  head: (d.bar_head, "print again at", "or the body comes out"))
== The sheets
#aside[How the sheets lie together; each number is the sheet's. Crosses with the same letter lie on one another.]
#grid(columns: (1fr, 1fr), column-gutter: 8mm, row-gutter: 5mm,
  ..d.boards.map(each => block(breakable: false, {
    set par(leading: 0.35em)
    text(size: small, each.title)
    v(-1mm)
    drawing(each.picture)
  })))

#block(breakable: false, above: 5mm, width: 100%)[
  == Parts
  #align(center, drawing(d.exploded))
  #aside[Wood in wide lines, metal (plain stand-ins) in narrow ones; not to scale.]
]

#let bar = check-bar()
#let tile-map(tile) = {
  let (w, h) = (8mm, 4.6mm)
  box(width: tile.columns * w, height: tile.rows * h, for row in range(tile.rows) {
    for column in range(tile.columns) {
      let here = row == tile.row and column == tile.column
      place(top + left, dx: column * w, dy: row * h, rect(width: w, height: h, stroke: narrow, inset: 0mm,
        fill: if here { luma(200) } else { none },
        align(center + horizon, text(size: 8pt, str(tile.first + row * tile.columns + column)))))
    }
  })
}
#for tile in d.tiles {
  let (width, height) = (tile.page.width * 1mm, tile.page.height * 1mm)
  page(width: width, height: height, margin: d.form.margin * 1mm, header: none, footer: none, {
    place(top + left, dx: d.form.side * 1mm, drawing(tile.picture))
    place(top + left, dx: 0mm, dy: 2mm, rotate(90deg, reflow: true, bar))
    let upright = tile.page.width < tile.page.height
    place(bottom + left, dx: d.form.side * 1mm, box(height: d.form.foot * 1mm - 3mm, width: 100% - d.form.side * 1mm,
      grid(columns: (101.6mm, 1fr, auto), column-gutter: if upright { 3mm } else { 6mm },
        align: (left + bottom, left + bottom, right + bottom), bar,
        { set par(leading: if upright { 0.25em } else { 0.4em })
          set text(size: if upright { 7pt } else { 8pt })
          [*Sheet #tile.number of #d.tiles.len()*#h(0.6em)]
          if not upright [#tile.title #linebreak()]
          [Print at 100 %; both bars must read 100 mm. #d.figures ]
          text(fill: quiet)[Set #d.digest.slice(0, 12)]
          if d.failing.len() > 0 [; *fails its checks*] },
        tile-map(tile))))
  })
}
"""
