"""The setup sheet's page in typst; it shrinks as a whole until it is one page."""

from __future__ import annotations

PAGE = r"""
#show: body => paper-style(d, body)
#set text(size: 8pt)
#set par(leading: 0.45em, spacing: 0.6em)

#let drawing(one) = image(bytes(one.svg), format: "svg", width: one.width * 1mm, height: one.height * 1mm, alt: one.alt)
#let head(words) = block(above: 2.6mm, below: 1.2mm, text(size: 9pt, weight: "semibold", words))
#let rows-of(columns, align, head, rows) = figures(columns: columns, align: align, head: head, rows: rows, size: 7.5pt,
  tight: true)

#let setup(one) = block(breakable: false, width: 100%, above: 2.4mm, below: 0mm, {
  text(size: 9pt, weight: "semibold", one.title)
  grid(columns: (94mm, 1fr), column-gutter: 4mm,
    block(above: 0.6mm, drawing(one)),
    if one.cuts.len() == 0 [Nothing is cut here: plane the block to size.] else {
      rows-of((auto, 1fr, auto), (left, left, right), ("", "Cut", "Deep, " + d.unit),
        one.cuts.map(row => (row.at(0), if row.at(2) == "" { row.at(1) } else { row.at(1) + ". " + row.at(2) }, row.at(3))))
    })
  block(above: 1mm, below: 1mm)[#one.lies. Zero: #one.zero. Block #one.stock, waste #one.waste. #one.hold]
  line(length: 100%, stroke: 0.1mm + quiet)
})

#let page-body = {
  block(below: 1.5mm, {
    text(size: if d.name.len() > 70 { 9pt } else { 14pt }, d.name)
    h(3mm)
    text(fill: quiet)[Setup sheet for a three-axis router. Set #d.digest.slice(0, 12), planestock #d.version. Cutter
      #d.cutter.]
  })
  if d.replaced { aside[A square □ stands for a letter that this type does not have.] }
  if d.failing.len() > 0 {
    block(stroke: wide, inset: 1.5mm, width: 100%)[*This body fails its checks. Do not cut wood to it.*
      #d.failing.join(", ")]
  }
  par[One STEP file for each setup, named like it, and its block beside it: zero of the file is zero of the machine, z is the
    spindle. *The left half is the right one's mirror image: the same setups with y turned round*, its own files. The zero is
    the same corner of the part in all its setups. Blocks come with two faces planed square to each other: the one that
    the part lies on first, and the sole. Holes that stay for the bench are not in the solids; corners left
    for the chisel are drawn sharp. Lengths in #d.unit.]
  par[#box(width: 4mm, height: 2.2mm, stroke: 0.1mm, fill: luma(222)) a clamp may sit here #h(3mm)
    #box(width: 4mm, height: 2.2mm, stroke: 0.1mm, fill: tiling(size: (1mm, 1mm), line(start: (0%, 100%), end: (100%, 0%),
      stroke: 0.1mm))) is cut #h(3mm) #box(width: 2.2mm, height: 2.2mm, fill: black) stays for hand work #h(3mm)
    #box(width: 4mm, height: 2.2mm, stroke: (paint: black, thickness: 0.1mm, dash: "dashed")) raw block]
  for one in d.setups { setup(one) }
  if d.corners.len() > 0 {
    head[What the round cutter leaves, as seen along the spindle]
    rows-of((1.2fr, auto, auto, auto, auto, auto, auto, 1.4fr), (left, right, right, right, right, right, right, left),
      ("Setup and pocket", "x", "y", "Angle", "Wood", "Farthest", "At corner", "What becomes of it"), d.corners)
    if d.more_corners > 0 [#d.more_corners more in setups.json. ]
  }
  grid(columns: (1fr, 1fr), column-gutter: 5mm, {
      if d.hand.len() > 0 {
        head[By hand]
        rows-of((auto, 0.7fr, 1.5fr), (left, left, left), ("", "What", "Why"), d.hand)
      }
      if d.checks.len() > 0 {
        head[The cutter]
        rows-of((auto, 1fr, 1fr), (left, left, left), ("", "Asked", "What to change"), d.checks)
      }
    }, {
      head[Tolerances: ISO 2768-m, tighter where asked]
      rows-of((1fr, auto, auto, auto), (left, right, right, right), ("", "Size", "General", "Asked"), d.tolerances)
      for each in d.tighter { par(text(size: 7pt, each)) }
    })
  head[Cautions]
  for each in d.cautions { text(size: 7pt, list.item(each)) }
}

// One page: the whole is as large as fits, found by halving; a lower share is a smaller page.
#layout(room => context {
  let fits(share) = measure(block(width: room.width / share, page-body)).height * share <= room.height
  let (low, high) = (25, 57)
  while high - low > 1 {
    let middle = calc.quo(low + high, 2)
    if fits(middle * 0.02) { low = middle } else { high = middle }
  }
  let share = low * 0.02
  scale(x: share * 100%, y: share * 100%, origin: top + left, reflow: true, block(width: room.width / share, page-body))
})
"""
