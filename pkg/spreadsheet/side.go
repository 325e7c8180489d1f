package spreadsheet

import (
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
)

// sideNames are the meanings of the word class side, each with its member.
var sideNames = [...]struct {
	name   string
	member func(*find.Dimensions) **find.Quantity
}{
	{"length", func(d *find.Dimensions) **find.Quantity { return &d.Length }},
	{"width", func(d *find.Dimensions) **find.Quantity { return &d.Width }},
	{"height", func(d *find.Dimensions) **find.Quantity { return &d.Height }},
	{"thickness", func(d *find.Dimensions) **find.Quantity { return &d.Thickness }},
	{"diameter", func(d *find.Dimensions) **find.Quantity { return &d.Diameter }},
}

// sideOf returns the place of a word in sideNames, or -1.
func sideOf(word string) int {
	word = strings.TrimRight(word, ".:=")
	if len(word) > 1 && strings.Trim(word, "\u00d8\u00f8\u2300\u2205") == "" { // the signs of a diameter
		return len(sideNames) - 1
	}
	for i := range sideNames {
		if lexicon.Means("side", sideNames[i].name, word) {
			return i
		}
	}
	return -1
}

// sidesOf fills the sides that a size names itself, before its figures or behind them: dia 24 mm, 24 mm wide,
// L 40mm W 12mm Th 3mm. It returns false, and fills nothing, where a piece of the text is neither.
func sidesOf(text string, d *find.Dimensions) bool {
	var texts [len(sideNames)]string
	side, measure, sides, before := -1, "", 0, false
	take := func() bool {
		if side < 0 || measure == "" || texts[side] != "" {
			return false
		}
		texts[side] = measure
		side, measure = -1, ""
		return true
	}
	for _, word := range sizeWords(text) {
		next := sideOf(word)
		switch {
		case next < 0 && (word == "x" || word == "×" || word == "*" || word == "," || word == ";"):
			continue
		case next < 0:
			if measure = strings.TrimSpace(measure + " " + word); !before && side >= 0 {
				return false
			}
			continue
		case sides == 0:
			before = measure == ""
		case before && !take():
			return false
		}
		sides++
		side = next
		if !before && !take() {
			return false
		}
	}
	if sides == 0 || before && !take() || measure != "" {
		return false
	}
	for i, s := range texts {
		if s == "" {
			continue
		}
		if _, err := quantity.NormaliseLength(s, quantity.Options{Default: quantity.MM}); err != nil {
			return false
		}
		*sideNames[i].member(d) = &find.Quantity{Verbatim: s}
	}
	return true
}

// sizeWords cuts a size at its blanks, and between a letter and the figure behind it: L40mm.
func sizeWords(text string) []string {
	var out []string
	for _, word := range strings.Fields(strings.NewReplacer(", ", " , ", ";", " ; ").Replace(text)) {
		at := strings.IndexFunc(word, unicode.IsDigit)
		if at > 0 && sideOf(word[:at]) >= 0 {
			out = append(out, word[:at])
			word = word[at:]
		}
		out = append(out, word)
	}
	return out
}
