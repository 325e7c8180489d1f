package spreadsheet

import (
	"regexp"
	"slices"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// A notebook without a table: days as headings, and below them a line for each find, behind a mark and a number:
// - D1 musket ball, lead, 6 in. It is read as a table with the headings that such lines have in mind. Prose without
// such lines is kept as notes.

var (
	listItem   = regexp.MustCompile(`^\s*([-–—•*]\s+)?(\pL{0,3}[0-9]{1,4}[a-z]?)([.):])?\s+(\pL.*)$`)
	listBreaks = regexp.MustCompile(`[,;]\s+|\s[-–—]\s`)
)

// listHeadings are the headings of the table that such lines make.
var listHeadings = [...]string{"Number", "Find", "Material", "Depth", "Weight", "Position", "Notes"}

const (
	leastItems  = 3
	headingLine = -1 // the row of these headings, which no file has
)

// lineOf is a row as the line that it was before it was cut at its commas.
func lineOf(r grid.Row) string {
	var parts []string
	for _, c := range r.Cells {
		parts = append(parts, c.Text)
	}
	return strings.Join(parts, ",")
}

// list makes a table of a notebook; ok is false for anything else.
func (p *sheetPlan) list() (rows []grid.Row, ok bool) {
	items, others, seen := 0, 0, map[string]bool{}
	head := grid.Row{Number: headingLine}
	for i, h := range listHeadings {
		head.Cells = append(head.Cells, grid.Cell{Column: i + 1, Kind: grid.Text, Text: h})
	}
	rows = append(rows, head)
	w := &walker{p: p, t: &tablePlan{plan: p}}
	for _, r := range p.head {
		if headingScore(r) >= 3 || slices.ContainsFunc(r.Cells, func(c grid.Cell) bool { return c.Kind != grid.Text && c.Kind != grid.Number }) {
			return nil, false
		}
		line := strings.TrimSpace(lineOf(r))
		m := listItem.FindStringSubmatch(line)
		day, _, _, whole := w.dayIn(firstClauses(line))
		switch {
		case line == "":
			continue
		case m != nil && m[1]+m[3] != "" && !(whole && strings.HasPrefix(line, day)):
			if items++; seen[m[2]] {
				return nil, false
			}
			seen[m[2]] = true
			if row := itemRow(r.Number, m[2], m[4]); beginsWithNothing(m[4]) && len(row.Cells) <= 3 {
				rows = append(rows, lineRow(r.Number, line)) // nothing else, went home early
			} else {
				rows = append(rows, row)
			}
		default:
			if others++; items == 0 && p.year == 0 {
				p.year, p.yearFrom = yearOf(line), "the title"
			}
			clause := line
			if whole || w.dayOfYear(firstClauses(line)) != "" {
				if clause = firstClauses(line); clause != line {
					p.keyRows = append(p.keyRows, r)
				}
			}
			rows = append(rows, lineRow(r.Number, clause))
		}
	}
	return rows, items >= leastItems && items*3 >= others
}

func lineRow(number int, line string) grid.Row {
	return grid.Row{Number: number, Cells: []grid.Cell{{Column: 1, Kind: grid.Text, Text: line, Value: line}}}
}

func beginsWithNothing(text string) bool {
	words := heading.Words(text)
	return len(words) > 0 && heading.RowWords("nothing")[words[0]]
}

// firstClauses are the first words of a line up to a sign: the day and the field of a heading.
func firstClauses(line string) string {
	end := 0
	for i, r := range line {
		if r == ',' || r == ';' || r == '(' || r == '.' && i > 5 && (i+1 == len(line) || line[i+1] == ' ') {
			if len(strings.Fields(line[:i])) > 8 {
				break
			}
			if end = i; r == '(' || r == '.' && !strings.HasSuffix(strings.TrimRight(line[:i], "0123456789"), " ") {
				break
			}
		}
	}
	if end == 0 || len(strings.Fields(line)) <= 6 && !strings.ContainsAny(line, "(") {
		return strings.TrimRight(line, ". ")
	}
	return strings.TrimSpace(line[:end])
}

// itemRow cuts the words of a line into the cells of the table: the name first, then what shows itself to be a place, a
// depth, a weight or a material; the rest are notes.
func itemRow(row int, number, words string) grid.Row {
	texts := [len(listHeadings)]string{number}
	put := func(at int, text string) bool {
		if texts[at] != "" {
			return false
		}
		texts[at] = text
		return true
	}
	var notes []string
	for i, part := range sentences(words) {
		switch {
		case i == 0:
			name, depth := intake.SplitWords(part)
			if texts[1] = name; depth != "" {
				texts[3] = depth
			}
		case isPlace(part) && put(5, part):
		default:
			var f find.Find
			rest, took := intake.TakeDetails(&f, part, false)
			fits := took && (f.Found == nil && len(f.Media) == 0)
			fits = fits && (f.Depth == nil || put(3, f.Depth.Verbatim)) && (f.Weight == nil || put(4, f.Weight.Verbatim)) &&
				(f.Materials == nil || put(2, f.Materials[0].Verbatim))
			if !fits {
				rest = part
			}
			if rest != "" {
				notes = append(notes, rest)
			}
		}
	}
	texts[6] = strings.Join(notes, "; ")
	out := grid.Row{Number: row}
	for i, text := range texts {
		if text != "" {
			out.Cells = append(out.Cells, grid.Cell{Column: i + 1, Kind: grid.Text, Text: text, Value: text})
		}
	}
	return out
}

// sentences cuts words at commas and dashes, and at points before a capital.
func sentences(words string) (out []string) {
	for _, part := range listBreaks.Split(words, -1) {
		for {
			at := strings.Index(part, ". ")
			if at < 0 || at+2 >= len(part) || !unicode.IsUpper([]rune(part[at+2:])[0]) {
				break
			}
			out, part = append(out, strings.Trim(part[:at], " .")), part[at+2:]
		}
		if part = strings.TrimRight(strings.TrimSpace(part), "."); part != "" {
			out = append(out, part)
		}
	}
	return out
}

func isPlace(text string) bool {
	return coordinateOf(text) && strings.ContainsAny(text, "0123456789") && len(text) > 6
}

// takeList reads the sheet as a notebook where it is one.
func (p *sheetPlan) takeList() {
	if p.own || p.sheet.Large() || p.onSide || len(p.head) >= lookAhead {
		return
	}
	year := p.year
	rows, ok := p.list()
	if p.listed = ok; ok {
		p.head = rows
		return
	}
	p.year, p.keyRows = year, nil
}

// isProse reports whether most rows of a sheet are sentences.
func (p *sheetPlan) isProse() bool {
	long, all := 0, 0
	for _, r := range p.head {
		if line := strings.TrimSpace(lineOf(r)); line != "" {
			if all++; len(strings.Fields(line)) >= 5 && filled(r) <= 12 {
				long++
			}
		}
	}
	return p.sheet.Name == "" && all >= 2 && long*2 >= all
}

// sayList says that a sheet was read as a notebook.
func (d *decoder) sayList(p *sheetPlan) {
	if !p.listed {
		return
	}
	n := notice.New(tableNote, "",
		"the file is no table: each of its lines with a number is read as a find, cut at its commas; the others are headings and notes")
	n.Sheet = p.sheet.Name
	d.notices.Add(n)
}
