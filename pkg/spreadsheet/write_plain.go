package spreadsheet

import (
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/quantity"
)

// A plain table has no columns for the canonical parts of terms and quantities, so that a person
// sees each thing once. It must still say what the record says: what has no words shows its
// canonical text, and a canonical value is left out only where the words beside it say it without
// help from a heading.

// plainCell writes one column of a plain table.
type plainCell[T find.Record] struct {
	path  *find.Path
	parts map[string]*find.Path // of a term or quantity: code, label, min, ...
	words *find.Path            // of a date or position: the words it was read from
}

var (
	termParts     = []string{"code", "label"}
	quantityParts = []string{"min", "max", "best", "said", "resolution", "approximate"}
)

func newPlainCell[T find.Record](path *find.Path) (*plainCell[T], error) {
	c := &plainCell[T]{path: path, parts: map[string]*find.Path{}}
	var members []string
	switch path.Field.Kind {
	case find.TermText:
		members = termParts
	case find.QuantityText:
		members = quantityParts
	}
	for _, member := range members {
		part, err := find.PathTo[T](path.Name + "." + member)
		if err != nil {
			return nil, err
		}
		c.parts[member] = part
	}
	if wordsBeside(path.Field.Name) {
		words, err := find.PathTo[T](ownerOf(path.Name) + ".verbatim")
		if err != nil {
			return nil, err
		}
		c.words = words
	}
	return c, nil
}

// ownerOf returns the name before the last dot.
func ownerOf(name string) string {
	if i := strings.LastIndexByte(name, '.'); i >= 0 {
		return name[:i]
	}
	return name
}

// wordsBeside reports whether the field, in the spelling of the table of fields, is a canonical value
// with the words it was read from beside it.
func wordsBeside(field string) bool {
	switch field {
	case "found.date", "dating.date", "otherDatings.#.date",
		"dating.earliest", "dating.latest", "otherDatings.#.earliest", "otherDatings.#.latest",
		"position.longitude", "position.latitude", "otherPositions.#.longitude", "otherPositions.#.latitude":
		return true
	}
	return false
}

// text returns what the cell says of a record.
func (c *plainCell[T]) text(r *T) string {
	text := find.Get(c.path, r)
	switch c.path.Field.Kind {
	case find.TermText:
		for _, member := range termParts {
			if text == "" {
				text = find.Get(c.parts[member], r)
			}
		}
		return text
	case find.QuantityText:
		return quantityInWords(text, c.quantity(r).Value(), c.path.Field.Unit)
	}
	if c.words != nil && text != "" && saysItself(c.path.Field.Name, find.Get(c.words, r), text) {
		return ""
	}
	return text
}

func (c *plainCell[T]) quantity(r *T) *find.Quantity {
	number := func(member string) find.Number {
		n, err := find.ParseNumber(find.Get(c.parts[member], r))
		if err != nil {
			return find.Number{}
		}
		return n
	}
	return &find.Quantity{Unit: c.path.Field.Unit, Said: find.Get(c.parts["said"], r),
		Approximate: find.Get(c.parts["approximate"], r) != "",
		Min:         number("min"), Max: number("max"), Best: number("best"), Resolution: number("resolution")}
}

// quantityInWords returns the words of a quantity. Where the unit stood in a heading, it is put
// behind the number: "8" becomes "8 in", but only if that reads as the value.
func quantityInWords(words string, v quantity.Quantity, unit string) string {
	if !v.Min.Known && !v.Max.Known {
		return words
	}
	if words == "" {
		text := v.String()
		if unit == "" && !v.Best.Known {
			text, _, _ = strings.Cut(text, " (") // the step of a count says nothing
		}
		return text
	}
	if unit == "" || v.Said == quantity.NoUnit || readsAs(words, v) {
		return words
	}
	if with := words + " " + v.Said.String(); readsAs(with, v) {
		return with
	}
	return words
}

func readsAs(words string, v quantity.Quantity) bool {
	read := quantity.NormaliseLength
	if v.Unit.Dimension() == quantity.G.Dimension() {
		read = quantity.NormaliseMass
	}
	r, err := read(words, quantity.Options{Into: v.Unit})
	return err == nil && r.Min == v.Min && r.Max == v.Max
}

// saysItself reports whether the words alone say the canonical value.
func saysItself(field, words, value string) bool {
	if words == "" {
		return false
	}
	member := field[strings.LastIndexByte(field, '.')+1:]
	switch {
	case member == "longitude" || member == "latitude":
		r, err := coordinate.Normalise(words, coordinate.Options{})
		return err == nil && r.Absent == ""
	case strings.HasPrefix(field, "found."):
		r, err := edtf.NormaliseFound(words, edtf.Options{})
		return err == nil && r.Date.String() == value
	}
	r, err := edtf.NormaliseDating(words, edtf.Options{})
	if err != nil || r.Date.IsZero() {
		return false
	}
	earliest, latest, hasEarliest, hasLatest := r.Date.Years()
	switch member {
	case "earliest":
		return hasEarliest && strconv.Itoa(earliest) == value
	case "latest":
		return hasLatest && strconv.Itoa(latest) == value
	}
	return r.Date.String() == value
}

// usePlain settles anew which columns a plain table of finds needs: those of which some cell says
// something.
func (s *spool) usePlain() error {
	s.used = map[string]find.Field{}
	cells := map[string]*plainCell[find.Find]{}
	return s.each(func(f *find.Find) error {
		for c := range find.Flat(f) {
			name := c.Name
			if c.Field.Part {
				name = ownerOf(name)
			}
			if _, ok := s.used[name]; ok || strings.HasPrefix(name, "columns.") {
				continue
			}
			cell := cells[name]
			if cell == nil {
				path, err := find.PathTo[find.Find](name)
				if err != nil {
					return err
				}
				if cell, err = newPlainCell[find.Find](path); err != nil {
					return err
				}
				cells[name] = cell
			}
			if cell.text(f) != "" {
				s.used[name] = cell.path.Field
			}
		}
		return nil
	})
}
