package render

import (
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
)

// places names the first places of a group, each with what stands there, and counts the others. Where a value
// comes again and again, the commonest stand for all.
func (v *Verdict) places(g *notice.Group, sheets bool, most int) string {
	var parts []string
	for i := range g.Examples[:min(len(g.Examples), most)] {
		n := &g.Examples[i]
		part := v.speech.place(n, sheets)
		if shown := shownAt(n); shown != "" {
			part += " " + quoted(shown)
		}
		parts = append(parts, part)
	}
	parts = cutRepeats(parts)
	text := strings.Join(parts, ", ")
	if left := g.Count - min(len(g.Examples), most); left > 0 && len(parts) > 0 {
		text += " " + v.speech.many("morePlaces", left)
		if len(g.Values) > most {
			text += " (" + commonest(g.Values, most) + ")"
		}
	}
	return text
}

// cutRepeats leaves out parts that say the same.
func cutRepeats(parts []string) (out []string) {
	said := map[string]bool{}
	for _, part := range parts {
		if !said[part] {
			said[part] = true
			out = append(out, part)
		}
	}
	return out
}

// shownAt is what stands at the place of a notice: the words of the cell, or of the heading that it is about.
func shownAt(n *notice.Notice) string {
	if n.Written == "" && n.Find == "" && n.Heading != "" {
		return n.Heading
	}
	return n.Written
}

// quoted puts a text as it was written between marks that it does not hold itself.
func quoted(text string) string {
	if strings.Contains(text, "\"") {
		return "“" + Clean(text) + "”"
	}
	return "\"" + Clean(text) + "\""
}

// commonest lists the commonest values of a group, and how often each comes.
func commonest(values []notice.Value, most int) string {
	var parts []string
	for i, value := range values {
		if i == most {
			return strings.Join(append(parts, "…"), ", ")
		}
		part := quoted(value.Text)
		if value.Count > 1 {
			part += " ×" + strconv.Itoa(value.Count)
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

// place names a place as the writer of the log knows it: the cell, the row, the line, or the find.
func (s *speech) place(n *notice.Notice, sheets bool) string {
	place := ""
	switch {
	case n.Cell != "":
		place = n.Cell
	case n.Row > 0:
		place = s.text("row", "row", strconv.Itoa(n.Row))
	}
	switch {
	case place != "" && sheets && n.Sheet != "":
		return Clean(n.Sheet) + "!" + place
	case place != "":
		return place
	case n.Find != "" && !strings.HasPrefix(n.Find, "urn:"):
		return s.text("find", "find", Clean(n.Find))
	case n.Line > 0:
		return s.text("line", "line", strconv.Itoa(n.Line))
	case n.Find != "":
		if rest, ok := strings.CutPrefix(n.Pointer, "/finds/"); ok {
			index, _, _ := strings.Cut(rest, "/")
			if i, err := strconv.Atoi(index); err == nil {
				return s.text("nth", "n", strconv.Itoa(i+1))
			}
		}
		return s.text("unnamed")
	}
	return s.record(n)
}

// record names a record of the report that has no place of its own, and the report itself.
func (s *speech) record(n *notice.Notice) string {
	parts := strings.Split(strings.TrimPrefix(n.Pointer, "/"), "/")
	name := "record-" + parts[0]
	if len(parts) < 2 || s.text(name) == name {
		return s.text("report")
	}
	index, err := strconv.Atoi(parts[1])
	if err != nil {
		return s.text("report")
	}
	return s.text(name, "n", strconv.Itoa(index+1))
}

// since compares the report with an earlier one, in a sentence.
func (v *Verdict) since(d *Document, c *change) string {
	return v.speech.text("since", "name", Clean(d.Baseline.Name), "new", strconv.Itoa(c.newly), "same",
		strconv.Itoa(c.staying),
		"gone", strconv.Itoa(len(c.gone)))
}
