"""The worksheet's page: boxes to write in, rows, tables, pictures; in the type and paper of every other printed page.

All words come as data and are set as plain strings; of them only a backtick means something: it begins or ends type of even
width, for what is typed at a keyboard.
"""

from __future__ import annotations

PAGE = r"""
#let faint = luma(110)
#let path-size = 6.5pt
#let mono(size, body) = text(font: "DejaVu Sans Mono", size: size, body)

// Words in which backticks mark what is typed.
#let rich(words) = words.split("`").enumerate().map(((i, each)) => if calc.odd(i) { mono(0.84em, each) } else { each }).join()

#let circled(number) = box(width: 5.8mm, height: 5.8mm, circle(radius: 2.9mm, stroke: narrow,
  align(center + horizon, text(size: 9pt, weight: "bold", str(number)))))

// A box to write in. Its path stands in its upper left corner, its unit in the upper right one; a thick left edge means
// that it has to be filled in.
#let fill-box(path, width, height, unit: "", values: (), required: false, compartments: false, label: none, empty: "") = box(
  width: width, height: height, stroke: narrow + faint, {
  if required { place(top + left, line(angle: 90deg, length: height, stroke: 0.9mm)) }
  place(top + left, dx: 1.3mm, dy: 0.9mm, if label == none { mono(path-size, text(fill: quiet, path)) } else { label })
  let corner = if compartments { (top + right, 0.8mm) } else { (bottom + right, -1.1mm) }
  let hint = if values.len() == 0 and empty != "" { "empty: " + empty } else { unit }
  if hint != "" { place(corner.at(0), dx: -1.2mm, dy: corner.at(1), text(size: 7.5pt, fill: quiet, hint)) }
  let split = compartments and values.all(each => each.len() <= d.longest)
  if split { for i in (1, 2) {
    place(top + left, dx: i * width / 3, dy: 3.7mm, line(angle: 90deg, length: height - 3.7mm, stroke: narrow + luma(170))) } }
  if split { for (i, each) in values.enumerate() {
    place(bottom + left, dx: i * width / 3 + 1.6mm, dy: -1.3mm, text(size: 12pt, bottom-edge: "baseline", each)) } }
  else if values.len() > 0 {
    let size = if values.join("   ").len() > 22 { 8pt } else { 12pt }
    place(bottom + left, dx: 1.6mm, dy: -1.2mm, block(width: width - 2.6mm, { set par(leading: 0.3em);
      text(size: size, bottom-edge: "baseline", values.join("   ")) })) }
})

#let choice-box(row, width) = box(width: width, stroke: narrow + faint, inset: (x: 1.3mm, top: 0.9mm, bottom: 1.4mm), {
  block(spacing: 1.3mm, mono(path-size, text(fill: quiet, row.path)))
  set text(size: 9pt)
  for each in row.options {
    let on = row.values.contains(each)
    box(inset: (right: 3.2mm, bottom: 0.4mm), { box(baseline: 0.4mm, width: 2.8mm, height: 2.8mm, stroke: narrow,
      if on { place(center + horizon, text(size: 9pt, weight: "bold")[×]) }); h(1.2mm); each }) }
})

#let any-box(row, width, height, compartments: false) = if row.options.len() > 0 { choice-box(row, width) } else {
  fill-box(row.path, width, height, unit: row.unit, values: row.values, required: row.required, compartments: compartments) }

#let number-of(row) = if row.number > 0 { circled(row.number) }

#let measured-row(row) = {
  let tall = d.tall * 1mm
  block(breakable: false, width: 100%, spacing: 0mm, inset: (y: 0.9mm), stroke: (top: narrow + luma(205)),
    grid(columns: (7.6mm, 1fr, 50mm, 18mm), column-gutter: (0mm, 3mm, 1.2mm), align: (left + top, left + top, top, top),
      pad(top: 0.6mm, number-of(row)),
      { set par(leading: 0.42em)
        v(0.5mm)
        text(size: 10.5pt, weight: "semibold", row.title)
        if row.with != "" { h(0.5em); text(size: 9pt, style: "italic", fill: quiet, row.with) }
        linebreak()
        text(size: 9pt, row.how)
        if not row.required and row.empty != "–" { text(size: 9pt, fill: quiet)[ (left empty: #row.empty)] } },
      any-box(row, 50mm, tall, compartments: row.decides),
      if row.measured { fill-box("", 18mm, tall, label: text(size: 8.5pt, fill: quiet)[±], values: if row.limit == "" { () } else { (row.limit,) }) }))
}

#let choice-row(row) = block(breakable: false, width: 100%, spacing: 0mm, inset: (y: 0.75mm), stroke: (top: narrow + luma(205)),
  grid(columns: (7.6mm, 1fr, auto, 50mm), column-gutter: (0mm, 3mm, 2mm), align: (left + horizon, left + horizon, right + horizon, top),
    number-of(row),
    pad(y: 0.5mm, { set par(leading: 0.4em); text(size: 10pt, weight: "semibold", row.title); linebreak(); text(size: 8.5pt, row.how) }),
    text(size: 9pt, fill: quiet, if row.required { "" } else { row.empty }),
    any-box(row, 50mm, (d.tall - 1.8) * 1mm)))

#let table-of(part) = {
  let many = part.columns.len()
  let heads = part.columns.map(c => grid(columns: if c.number > 0 { (7mm, 1fr) } else { (1fr,) }, align: horizon,
    ..if c.number > 0 { (circled(c.number),) } else { () }, text(size: 10pt, weight: "semibold", c.title)))
  let hows = part.columns.map(c => { set par(leading: 0.4em); text(size: 8.5pt, c.how) })
  let paths = if part.columns.any(c => c.path != "") { ([], ..part.columns.map(c => mono(path-size, text(fill: quiet, c.path)))) } else { () }
  block(breakable: true, width: 100%, grid(columns: (part.first * 1mm,) + (1fr,) * many, column-gutter: 0.8mm, row-gutter: 1.3mm,
    align: (x, y) => if x == 0 { left + horizon } else { left + top },
    [], ..heads, [], ..hows, ..paths,
    ..part.lines.map(each => (text(size: 9.5pt, weight: "semibold", each.name),
      ..each.cells.map(c => layout(room => fill-box(c.path, room.width, (d.tall - 1) * 1mm, unit: c.unit, values: c.values,
        required: c.required, empty: c.empty))))).flatten()))
}

#let picture-of(p) = block(breakable: false, spacing: 2mm, width: p.width * 1mm, {
  box(width: p.width * 1mm, height: p.height * 1mm, {
    place(top + left, image(bytes(p.svg), format: "svg", width: p.width * 1mm, alt: p.alt))
    for m in p.marks { place(top + left, dx: m.at(0) * 1mm - 5mm, dy: m.at(1) * 1mm - 2.5mm,
      box(width: 10mm, height: 5mm, align(center + horizon, text(size: 9pt, weight: "bold", m.at(2))))) }
    for (words, x, y, anchor, bold) in p.labels {
      let (shift, side) = (start: (0mm, left), middle: (45mm, center), end: (90mm, right)).at(anchor)
      place(top + left, dx: x * 1mm - shift, dy: y * 1mm - 5mm, box(width: 90mm, height: 5mm, align(bottom + side,
        text(size: if bold { 10pt } else { 9pt }, bottom-edge: "baseline", weight: if bold { "semibold" } else { "regular" }, words)))) }
  })
  v(0.6mm, weak: true)
  text(size: 8pt, fill: quiet, p.note)
})

#let paragraphs(words) = for each in words { par(rich(each)) }

#let typing(t) = {
  heading(level: 2, t.title)
  enum(..t.steps.map(rich))
  grid(columns: (1.25fr, 1fr), column-gutter: 6mm,
    block(width: 100%, fill: tint, inset: 2.4mm, { text(size: 8.5pt, weight: "semibold", t.example-title); parbreak()
      show raw: set text(font: "DejaVu Sans Mono", size: 7pt); raw(t.example, block: true) }),
    { text(weight: "semibold", t.slips-title); list(..t.slips.map(rich)) })
}

#let part-of(part) = {
  if part.title != "" { heading(level: 2, part.title) }
  paragraphs(part.words)
  if part.picture != none {
    if part.beside.len() > 0 { grid(columns: (part.picture.width * 1mm, 1fr), column-gutter: 5mm, align: (left, left + top),
      picture-of(part.picture), { set par(leading: 0.5em, spacing: 0.7em); paragraphs(part.beside) }) }
    else { align(center, picture-of(part.picture)) }
  }
  if part.kind in ("rows", "choices", "table") { v(1.6mm, weak: true) }
  if part.kind == "rows" { for row in part.rows { measured-row(row) } }
  if part.kind == "choices" { for row in part.rows { choice-row(row) } }
  if part.kind == "table" { table-of(part) }
  if part.kind == "typing" { typing(part.typing) }
}

#let cover(c) = {
  heading(level: 1, c.title)
  paragraphs(c.words)
  v(1mm)
  let (name, note, units, length, angle) = c.rows
  let wide(row, height) = block(spacing: 1.6mm, layout(room => fill-box(row.path, room.width, height, required: row.required,
    values: ())))
  grid(columns: (26mm, 1fr), column-gutter: 3mm, row-gutter: 2mm, align: (left + horizon, left),
    text(weight: "semibold", name.title), block(width: 100%, stroke: (left: 0.9mm, rest: narrow + faint), inset: (x: 1.6mm, top: 0.9mm, bottom: 1.6mm), {
      block(spacing: 1.4mm, mono(path-size, text(fill: quiet, name.path)))
      if name.values.len() == 0 { v(7mm) } else { text(size: if name.values.at(0).len() > 60 { 9pt } else { 12pt }, name.values.at(0)) } }),
    text(weight: "semibold", note.title), block(width: 100%, stroke: narrow + faint, inset: (x: 1.6mm, top: 0.9mm, bottom: 1.6mm), {
      block(spacing: 1.4mm, mono(path-size, text(fill: quiet, note.path)))
      if note.values.len() == 0 { v(16mm) } else { text(size: 9pt, note.values.at(0)) } }))
  v(1.6mm)
  for row in (units, length, angle) { choice-row(row) }
  line(length: 100%, stroke: narrow + luma(205))
  heading(level: 2, c.reading-title)
  enum(..c.reading.map(rich))
  heading(level: 2, c.tools-title)
  par(rich(c.tools))
  heading(level: 2, c.cautions-title)
  { set text(size: 9pt); set par(leading: 0.5em); list(spacing: 0.55em, ..c.cautions) }
  if c.remark != "" { aside(c.remark) }
}

#paper-style(d, {
  set page(margin: (left: 18mm, right: 18mm, top: 18mm, bottom: 15mm), header-ascent: 3.4mm, footer-descent: 3mm,
    footer: context {
      set text(size: small, fill: quiet)
      grid(columns: (1fr, auto), d.origin, [#counter(page).display() of #counter(page).final().first()])
    })
  show heading.where(level: 1): set block(below: 3mm)
  show heading.where(level: 2): set block(above: 4.4mm, below: 2.2mm)
  cover(d.cover)
  for section in d.sections {
    pagebreak()
    heading(level: 1, section.title)
    paragraphs(section.words)
    for part in section.parts { part-of(part) }
  }
})
"""
"""Typst source of the worksheet, to go after the shared style."""
