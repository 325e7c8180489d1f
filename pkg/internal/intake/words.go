package intake

import (
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
)

// SplitWords cuts the words of a waypoint, such as "crotal bell 9-10in", into what was found and how deep it lay: the
// longest end of the text that is read as a depth with its unit, or as the surface. Millimetres and what is deeper
// than anybody digs are left alone: they are rather a size. Common practice, no source.
func SplitWords(text string) (words, depth string) {
	fields := strings.Fields(text)
	for i := 1; i < len(fields); i++ {
		end := strings.TrimLeft(strings.Join(fields[i:], " "), ",;:-@ ")
		r, err := quantity.NormaliseLength(end, quantity.Options{})
		if err != nil || r.Said == quantity.MM || r.Absent != "" || !r.Min.Known && !r.Max.Known {
			continue
		}
		if deepest := max(r.Min.Value.Float(), r.Max.Value.Float()); deepest > mostDug || r.Said == quantity.NoUnit &&
			deepest > 0 {
			continue
		}
		if i+1 < len(fields) { // a word before the depth, such as the last of "lead weight 6in", may add nothing to it
			rest, err := quantity.NormaliseLength(strings.Join(fields[i+1:], " "), quantity.Options{})
			if err == nil && rest.Quantity == r.Quantity && heading.Understand(fields[i]).Field != "depth" {
				continue
			}
		}
		return strings.TrimRight(strings.Join(fields[:i], " "), ",;:-@ "), end
	}
	return text, ""
}

const mostDug = 150 // cm

// TakeWords sets name, depth and count of a find from the words of a waypoint, where they are not given already. The
// words stay under the heading where they were taken apart.
func TakeWords(f *find.Find, words, heading string) {
	name, depth := SplitWords(words)
	if depth != "" && f.Depth == nil {
		f.Depth = &find.Depth{Quantity: find.Quantity{Verbatim: depth}}
		Column(f, heading, words)
	} else {
		name = words
	}
	Unless(f, &f.Name, heading, name)
	if number, rest, ok := strings.Cut(name, " "); ok && f.Count == nil && severalOf(number, rest) {
		f.Count = &find.Quantity{Verbatim: number}
	}
}

// severalOf reports whether words begin as in "2 buckles".
func severalOf(number, rest string) bool {
	if len(number) > 2 || number == "0" || number == "1" || strings.Trim(number, "0123456789") != "" {
		return false
	}
	words := strings.Fields(rest)
	for _, word := range words[:min(2, len(words))] {
		if lexicon.Says("not-counted", strings.Trim(word, ".,;:()")) {
			return false // 2 skilling dansk 1780: what a coin is worth
		}
	}
	first, _, _ := strings.Cut(rest, " ")
	_, err := quantity.ParseUnit(first)
	return err != nil && len(first) > 2 && unicode.IsLetter([]rune(first)[0])
}

// IsLandmark reports whether a waypoint marks the way and not a find: its name is a word such as car or gate, in any
// of the languages, and its words tell of no depth.
func IsLandmark(name, words string) bool {
	_, depth := SplitWords(words)
	return depth == "" && heading.RowWord("waypoint", name)
}
