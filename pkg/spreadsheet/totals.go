package spreadsheet

import (
	"math"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// isTotalText reports whether a text says that a row adds others up: a word for it, and at most a few more.
func isTotalText(text string) bool {
	if text == "" || len(text) > 60 || text[0]-'0' < 10 {
		return false
	}
	if last := text[strings.LastIndexByte(text, ' ')+1:]; !heading.MayBegin("total", text) && !heading.MayBegin("total",
		last) {
		return false
	}
	words := heading.Words(text)
	if len(words) == 0 || len(words) > 5 {
		return false
	}
	table := heading.RowWords("total")
	if last := words[len(words)-1]; len(words) <= 3 && len(last) > 3 && table[last] && last != "same" {
		return true // season total
	}
	for n := min(3, len(words)); n > 0; n-- {
		if table[strings.Join(words[:n], " ")] {
			rest := words[n:]
			return len(rest) == 0 || strings.HasSuffix(strings.TrimSpace(text), ":") || len(rest) <= 3 && (n > 1 || len(words[0]) > 3)
		}
	}
	return false
}

// countsFinds reports whether a text says how many finds there are: 7 finds.
func countsFinds(text string) bool {
	number, word, ok := strings.Cut(strings.TrimSpace(text), " ")
	return ok && len(number) < 5 && strings.Trim(number, "0123456789") == "" && !strings.Contains(word, " ") &&
		heading.Understand(word).Field == "name"
}

// isTotal reports whether a row adds others up: its first text says so, or it is nothing but figures under
// what can be added; and it has nothing of a find beside them.
func (w *walker) isTotal(row grid.Row) bool {
	label, figures := false, 0
	for i := range row.Cells {
		c := &row.Cells[i]
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		col := w.t.at(c.Column)
		field := ""
		if col != nil {
			field = col.Field
		}
		if c.Kind == grid.Text && (isTotalText(text) || countsFinds(text)) && (!label && figures == 0 || label && col != nil && col.group > 1) {
			label = true
			continue
		}
		switch field {
		case "count", "weight", "value", "", "depth", "condition.completeness", "dimensions.length", "dimensions.width":
			if c.Kind != grid.Text || beginsWithFigure(text) || text == "-" {
				figures++
				continue
			}
			if field == "" && label {
				continue
			}
			return false
		case "name", "number":
			if label && (c.Kind != grid.Text || beginsWithFigure(text)) {
				figures++
				continue
			}
			return false
		case "notes":
			if label {
				continue
			}
			return false
		default:
			if c.More != nil && c.More.Formula != "" || c.Kind == grid.Error || label &&
				(text == "-" || len(text) < 5 && strings.Trim(text, "0123456789") == "") {
				continue
			}
			return false
		}
	}
	if label {
		return true
	}
	// Without a word for it: only what can be added, and no text that is not a figure.
	return figures > 0 && w.sumsOnly(row)
}

// sumsOnly reports whether all cells of a row stand under numbers of things, weights or values.
func (w *walker) sumsOnly(row grid.Row) bool {
	for _, c := range row.Cells {
		if strings.TrimSpace(c.Text) == "" {
			continue
		}
		col := w.t.at(c.Column)
		if col == nil {
			return false
		}
		switch col.Field {
		case "count", "weight", "value":
		default:
			return false
		}
	}
	return true
}

func beginsWithFigure(s string) bool {
	return s != "" && (s[0]-'0' < 10 || strings.IndexByte("-+.£$", s[0]) >= 0 || strings.HasPrefix(s, "€") ||
		strings.HasPrefix(s, "£")) && len(strings.Fields(s)) <= 4
}

// add adds the figures of a find to the sums of its columns.
func (w *walker) add(row grid.Row) {
	for _, c := range row.Cells {
		col := w.t.at(c.Column)
		if col == nil || col.Field != "count" && col.Field != "weight" {
			continue
		}
		s := w.sums[c.Column]
		if s == nil {
			s = new(sum)
			w.sums[c.Column] = s
		}
		n, err := strconv.ParseFloat(strings.Replace(c.Value, ",", ".", 1), 64)
		if err != nil {
			s.broken = s.broken || strings.TrimSpace(c.Text) != ""
			continue
		}
		s.all, s.since = s.all+n, s.since+n
	}
}

// checkTotal compares a total with what was read; a column in which a cell was no number cannot be.
func (w *walker) checkTotal(row grid.Row) (differ []grid.Cell) {
	for _, c := range row.Cells {
		s := w.sums[c.Column]
		n, err := strconv.ParseFloat(strings.Replace(c.Value, ",", ".", 1), 64)
		if s == nil || err != nil || c.Kind != grid.Number && c.Kind != grid.Text {
			continue
		}
		near := func(a float64) bool { return math.Abs(a-n) <= 0.005+math.Abs(n)*1e-6 }
		if !s.broken && !near(s.all) && !near(s.since) {
			differ = append(differ, c)
		}
	}
	return differ
}
