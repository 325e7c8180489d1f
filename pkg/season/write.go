package season

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// JSON writes the figures of the season.
func (s *Season) JSON(w io.Writer) error {
	if err := json.MarshalWrite(w, s, jsontext.WithIndent("  "), json.Deterministic(true)); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

// CSV writes the figures of the season, one a line: the table, what the line is of, what is counted, and how much.
// Lengths are in cm.
func (s *Season) CSV(w io.Writer) error {
	out := csv.NewWriter(w)
	row := func(table, of, figure string, value float64) {
		_ = out.Write([]string{table, guard(of), figure, strconv.FormatFloat(value, 'f', -1, 64)}) // Flush and Error tell
	}
	_ = out.Write([]string{"table", "of", "figure", "value"})
	t := &s.Totals
	row("season", "", "finds", float64(t.Finds))
	row("season", "", "objects", float64(t.Objects))
	row("season", "", "outings", float64(t.Outings))
	row("season", "", "outings without finds", float64(t.Nothing))
	row("season", "", "hours", t.Hours)
	if t.Hours > 0 {
		row("season", "", "finds an hour", t.FindsAnHour)
	}
	for _, m := range s.Months {
		row("month", m.Month, "finds", float64(m.Finds))
		row("month", m.Month, "outings", float64(m.Outings))
		row("month", m.Month, "hours", m.Hours)
	}
	for _, o := range s.Outings {
		of := o.Day + " " + o.Field
		row("outing", of, "finds", float64(o.Finds))
		if o.Hours > 0 {
			row("outing", of, "hours", o.Hours)
		}
	}
	for _, t := range []struct {
		name string
		list []Count
	}{{"field", s.Fields}, {"material", s.Materials}, {"age", s.Periods}, {"class", s.Classes}, {"finder", s.Finders}} {
		for _, c := range t.list {
			row(t.name, c.Name, "finds", float64(c.Finds))
			row(t.name, c.Name, "objects", float64(c.Objects))
		}
	}
	for _, g := range s.Depth.Groups {
		row("depth", g.Material, "finds", float64(len(g.Depths)))
		row("depth", g.Material, "shallowest", g.Lowest)
		row("depth", g.Material, "median", g.Median)
		row("depth", g.Material, "deepest", g.Deepest)
	}
	for _, b := range s.Bands {
		row("depth from "+strconv.FormatFloat(b.From, 'f', -1, 64), b.Material, "finds", float64(b.Finds))
	}
	for _, t := range s.Trust {
		row("guess", t.Detector, "pairs", float64(t.Pairs))
		row("guess", t.Detector, "mean difference", t.Mean)
		row("guess", t.Detector, "spread", t.Spread)
		row("guess", t.Detector, "share deeper than guessed", t.Deeper)
	}
	for _, g := range s.Guesses {
		of := g.Detector + " " + g.Programme
		row("guess", of, "pairs", float64(g.Pairs))
		row("guess", of, "mean difference", g.Mean)
		row("guess", of, "spread", g.Spread)
		row("guess", of, "deeper than guessed", float64(g.Deeper))
	}
	out.Flush()
	return out.Error()
}

// guard keeps a spreadsheet from taking text for a formula.
func guard(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) {
		return "'" + text
	}
	return text
}
