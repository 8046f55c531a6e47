"""The worksheet's page: boxes to write in, rows, tables, pictures; in the type and paper of every other printed page.

All words come as data and are set as plain strings; of them only a backtick means something: it begins or ends type of even
width, for what is typed at a keyboard.
"""

from __future__ import annotations

PAGE = r"""
#let faint = luma(110)
#let hair = narrow + luma(205)
#let path-size = 6.5pt
#let mono(size, body) = text(font: "DejaVu Sans Mono", size: size, body)
#let path-of(path) = mono(path-size, text(fill: quiet, path))

// Words in which backticks mark what is typed.
#let rich(words) = {
  for (i, each) in words.split("`").enumerate() { if calc.odd(i) { mono(0.84em, each) } else { each } }
}
#let paragraphs(words) = for each in words { par(rich(each)) }

#let circled(number) = box(width: 5.8mm, height: 5.8mm, circle(radius: 2.9mm, stroke: narrow,
  align(center + horizon, text(size: 9pt, weight: "bold", str(number)))))
#let number-of(row) = if row.number > 0 { circled(row.number) }

// What is written in a box: all of it, or in three compartments one reading each.
#let in-compartments(width, height, values) = {
  for i in (1, 2) {
    place(top + left, dx: i * width / 3, dy: 3.7mm, line(angle: 90deg, length: height - 3.7mm, stroke: narrow + luma(170)))
  }
  for (i, each) in values.enumerate() {
    place(bottom + left, dx: i * width / 3 + 1.6mm, dy: -1.3mm, text(size: 12pt, bottom-edge: "baseline", each))
  }
}
#let in-one(width, written) = place(bottom + left, dx: 1.6mm, dy: -1.2mm, block(width: width - 2.6mm, {
  set par(leading: 0.3em)
  text(size: if written.len() > 22 { 8pt } else { 12pt }, bottom-edge: "baseline", written)
}))

// A box to write in. Its path stands in its upper left corner, its unit on the right; a thick left edge means that it has
// to be filled in.
#let fill-box(path, width, height, unit: "", values: (), required: false, compartments: false, empty: "", label: none) = box(
  width: width, height: height, stroke: narrow + faint, {
    if required { place(top + left, line(angle: 90deg, length: height, stroke: 0.9mm)) }
    place(top + left, dx: 1.3mm, dy: 0.9mm, if label == none { path-of(path) } else { label })
    let (corner, shift) = if compartments { (top + right, 0.8mm) } else { (bottom + right, -1.1mm) }
    let hint = if values.len() == 0 and empty != "" { "empty: " + empty } else { unit }
    if hint != "" { place(corner, dx: -1.2mm, dy: shift, text(size: 7.5pt, fill: quiet, hint)) }
    if compartments and values.all(each => each.len() <= d.longest) { in-compartments(width, height, values) }
    else if values.len() > 0 { in-one(width, values.join("   ")) }
  })

#let tick-box(on) = box(baseline: 0.4mm, width: 2.8mm, height: 2.8mm, stroke: narrow,
  if on { place(center + horizon, text(size: 9pt, weight: "bold")[×]) })

#let choice-box(row, width) = box(width: width, stroke: narrow + faint, inset: (x: 1.3mm, top: 0.9mm, bottom: 1.4mm), {
  block(spacing: 1.3mm, path-of(row.path))
  set text(size: 9pt)
  for each in row.options {
    box(inset: (right: 3.2mm, bottom: 0.4mm), { tick-box(row.values.contains(each)); h(1.2mm); each })
  }
})

#let any-box(row, width, height, compartments: false) = if row.options.len() > 0 { choice-box(row, width) } else {
  fill-box(row.path, width, height, unit: row.unit, values: row.values, required: row.required, compartments: compartments)
}

#let limit-box(row, height) = fill-box("", 18mm, height, label: text(size: 8.5pt, fill: quiet)[±],
  values: if row.limit == "" { () } else { (row.limit,) })

#let how-of(row) = {
  set par(leading: 0.42em)
  v(0.5mm)
  text(size: 10.5pt, weight: "semibold", row.title)
  if row.with != "" { h(0.5em); text(size: 9pt, style: "italic", fill: quiet, row.with) }
  linebreak()
  text(size: 9pt, row.how)
  if not row.required and row.empty != d.nothing { text(size: 9pt, fill: quiet)[ (left empty: #row.empty)] }
}

#let measured-row(row) = block(breakable: false, width: 100%, spacing: 0mm, inset: (y: 0.9mm), stroke: (top: hair),
  grid(columns: (7.6mm, 1fr, 50mm, 18mm), column-gutter: (0mm, 3mm, 1.2mm), align: (left + top, left + top, top, top),
    pad(top: 0.6mm, number-of(row)),
    how-of(row),
    any-box(row, 50mm, d.tall * 1mm, compartments: row.decides),
    if row.measured { limit-box(row, d.tall * 1mm) }))

#let choice-row(row) = block(breakable: false, width: 100%, spacing: 0mm, inset: (y: 0.75mm), stroke: (top: hair),
  grid(columns: (7.6mm, 1fr, auto, 50mm), column-gutter: (0mm, 3mm, 2mm),
    align: (left + horizon, left + horizon, right + horizon, top),
    number-of(row),
    pad(y: 0.5mm, {
      set par(leading: 0.4em)
      text(size: 10pt, weight: "semibold", row.title)
      linebreak()
      text(size: 8.5pt, row.how)
    }),
    text(size: 9pt, fill: quiet, if row.required { "" } else { row.empty }),
    any-box(row, 50mm, (d.tall - 1.8) * 1mm)))

#let head-of(column) = {
  let title = text(size: 10pt, weight: "semibold", column.title)
  if column.number > 0 { grid(columns: (7mm, 1fr), align: horizon, circled(column.number), title) } else { title }
}

#let table-of(part) = {
  let columns = part.columns
  let hows = columns.map(each => { set par(leading: 0.4em); text(size: 8.5pt, each.how) })
  let paths = if columns.any(each => each.path != "") { ([], ..columns.map(each => path-of(each.path))) } else { () }
  let cell(each) = layout(room => fill-box(each.path, room.width, (d.tall - 1) * 1mm, unit: each.unit, values: each.values,
    required: each.required, empty: each.empty))
  grid(columns: (part.first * 1mm,) + (1fr,) * columns.len(), column-gutter: 0.8mm, row-gutter: 1.3mm,
    align: (x, y) => if x == 0 { left + horizon } else { left + top },
    [], ..columns.map(head-of), [], ..hows, ..paths,
    ..part.lines.map(each => (text(size: 9.5pt, weight: "semibold", each.name), ..each.cells.map(cell))).flatten())
}

#let at-mark(mark) = place(top + left, dx: mark.at(0) * 1mm - 5mm, dy: mark.at(1) * 1mm - 2.5mm,
  box(width: 10mm, height: 5mm, align(center + horizon, text(size: 9pt, weight: "bold", mark.at(2)))))

#let at-label((words, x, y, anchor, bold)) = {
  let (shift, side) = (start: (0mm, left), middle: (45mm, center), end: (90mm, right)).at(anchor)
  let (size, weight) = if bold { (10pt, "semibold") } else { (9pt, "regular") }
  place(top + left, dx: x * 1mm - shift, dy: y * 1mm - 5mm, box(width: 90mm, height: 5mm,
    align(bottom + side, text(size: size, bottom-edge: "baseline", weight: weight, words))))
}

#let picture-of(p) = block(breakable: false, spacing: 2mm, width: p.width * 1mm, {
  box(width: p.width * 1mm, height: p.height * 1mm, {
    place(top + left, image(bytes(p.svg), format: "svg", width: p.width * 1mm, alt: p.alt))
    for each in p.marks { at-mark(each) }
    for each in p.labels { at-label(each) }
  })
  v(0.6mm, weak: true)
  text(size: 8pt, fill: quiet, p.note)
})

#let typing(t) = {
  heading(level: 2, t.title)
  enum(..t.steps.map(rich))
  let example = block(width: 100%, fill: tint, inset: 2.4mm, {
    text(size: 8.5pt, weight: "semibold", t.example-title)
    parbreak()
    set par(leading: 0.5em)
    show raw: set text(font: "DejaVu Sans Mono", size: 7pt)
    raw(t.example, block: true)
  })
  grid(columns: (1.25fr, 1fr), column-gutter: 6mm, example,
    { text(weight: "semibold", t.slips-title); list(..t.slips.map(rich)) })
}

#let part-of(part) = {
  if part.title != "" { heading(level: 2, part.title) }
  paragraphs(part.words)
  if part.picture != none and part.beside.len() > 0 {
    grid(columns: (part.picture.width * 1mm, 1fr), column-gutter: 5mm, align: left + top, picture-of(part.picture), {
      set par(leading: 0.5em, spacing: 0.7em)
      paragraphs(part.beside)
    })
  } else if part.picture != none { align(center, picture-of(part.picture)) }
  if part.kind in ("rows", "choices", "table") { v(1.6mm, weak: true) }
  if part.kind == "rows" { for row in part.rows { measured-row(row) } }
  if part.kind == "choices" { for row in part.rows { choice-row(row) } }
  if part.kind == "table" { table-of(part) }
  if part.kind == "typing" { typing(part.typing) }
}

// A box for words, as wide as the page and as high as they need, at least `height`.
#let word-box(row, height) = block(width: 100%, stroke: (left: if row.required { 0.9mm } else { narrow + faint },
  rest: narrow + faint), inset: (x: 1.6mm, top: 0.9mm, bottom: 1.6mm), {
  block(spacing: 1.4mm, path-of(row.path))
  let written = row.values.join()
  let size = if written == none or written.len() <= 60 { 12pt } else if written.len() <= 250 { 9pt } else { 7.5pt }
  if written == none { v(height) } else { text(size: size, written) }
})

#let cover(c) = {
  heading(level: 1, c.title)
  paragraphs(c.words)
  v(1mm)
  let (name, note, ..rest) = c.rows
  grid(columns: (26mm, 1fr), column-gutter: 3mm, row-gutter: 2mm, align: (left + horizon, left),
    text(weight: "semibold", name.title), word-box(name, 7mm), text(weight: "semibold", note.title), word-box(note, 16mm))
  v(1.6mm)
  let of-tools = rest.filter(each => each.path.starts-with("instrument."))
  for row in rest.filter(each => not each.path.starts-with("instrument.")) { choice-row(row) }
  line(length: 100%, stroke: hair)
  v(0.8mm, weak: true)
  { set par(leading: 0.4em); text(size: 8.5pt, c.limits) }
  v(1.2mm, weak: true)
  let limit-of(row) = layout(room => {
    block(spacing: 0.8mm, text(size: 8.5pt, weight: "semibold", row.title))
    fill-box(row.path, room.width, (d.tall - 1.8) * 1mm, unit: row.unit, values: row.values, empty: row.usual)
  })
  grid(columns: (1fr,) * 4, column-gutter: 1.2mm, row-gutter: 1.2mm, ..of-tools.map(limit-of))
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
