package spreadsheet

import (
	"errors"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

var endsInYear = text.Pattern(`[ ./-][0-9]+$`)

// itemRow cuts the words of a line into the cells of the table: the name first, then what shows itself to be a place, a
// depth, a weight or a material; the rest are notes.
func itemRow(l *noteLine) grid.Row {
	if l.form == formPlain || l.item != "" && l.form == formMarked {
		l.number = "" // which may be a count
	}
	texts := [len(listHeadings)]string{itemNumber: l.number, itemDay: l.day, itemFinder: l.sender}
	if l.clock != "" {
		texts[itemMessage] = l.day + ", " + l.clock
	}
	put := func(at int, text string) bool {
		if texts[at] != "" {
			return false
		}
		texts[at] = text
		return true
	}
	var notes []string
	parts := sentences(l.words)
	name := 0
	if l.form == formStamped { // New spot today. Two coins, silver, 3 in
		name = nameAmong(parts, l.words)
	}
	for i, part := range parts {
		spot, rest := coordinate.Leading(part)
		switch {
		case i == name:
			words, depth := intake.SplitWords(part)
			if texts[itemName] = words; depth != "" {
				texts[itemDepth] = depth
			}
		case isPlace(part) && put(itemPosition, part):
		case spot != "" && isPlace(spot) && put(itemPosition, spot):
			notes = append(notes, rest)
		case isDepthWord(part) && put(itemDepth, part):
		default:
			if rest := takePart(part, put); rest != "" {
				notes = append(notes, rest)
			}
		}
	}
	texts[itemNotes] = strings.Join(notes, "; ")
	out := grid.Row{Number: l.row.Number}
	for i, text := range texts {
		if text != "" {
			out.Cells = append(out.Cells, grid.Cell{Column: i + 1, Kind: grid.Text, Text: text, Value: text})
		}
	}
	return out
}

// takePart puts a part of a line where it belongs: who found it, a depth, a weight, a material, a count, a diameter. It
// returns what is left for the notes.
func takePart(part string, put func(at int, text string) bool) (rest string) {
	var f find.Find
	if who := heading.FinderIn(part, false); who != "" && put(itemFinder, who) {
		return part
	}
	rest, took := intake.TakeDetails(&f, part, false)
	fits := took && f.Found == nil && len(f.Media) == 0
	if d := f.Dimensions; fits && d != nil {
		fits = d.Diameter != nil && put(itemDiameter, d.Diameter.Verbatim)
	}
	fits = fits && (f.Count == nil || put(itemCount, f.Count.Verbatim)) &&
		(f.Depth == nil || put(itemDepth, f.Depth.Verbatim)) &&
		(f.Weight == nil || put(itemWeight, f.Weight.Verbatim)) &&
		(f.Materials == nil || put(itemMaterial, f.Materials[0].Verbatim))
	if !fits {
		return part
	}
	return rest
}

// bareDepth is a depth whose unit stands elsewhere: 5 down.
var bareDepth = text.Pattern(`^[0-9][0-9./ ½¼¾-]*(?:\s(?:to|or)\s[0-9]+)?\s(?i:down|deep)$`)

// isDepthWord reports whether a text is a depth that has to be asked for: 5 down, a layer, a hand deep.
func isDepthWord(text string) bool {
	var e *quantity.Error
	r, err := quantity.NormaliseLength(text, quantity.Options{})
	if err == nil && r.Said == quantity.NoUnit && r.Min.Known && r.Min.Value.Float() > 0 {
		return true // 1,5 dm
	}
	last := text[strings.LastIndexByte(text, ' ')+1:]
	return bareDepth().MatchString(text) || errors.As(err, &e) && e.Code == "depth-names-layer" ||
		last != text && len(strings.Fields(text)) <= 5 && !strings.Contains(text, ". ") &&
			heading.Understand(last).Field == "depth"
}

// nameAmong is the first part of the sentence that has the first detail.
func nameAmong(parts []string, words string) (name int) {
	for i, part := range parts {
		if i > 0 && (isDetail(part) || isPlace(part)) {
			return name
		}
		if at := strings.Index(words, part); i > 0 && at > 1 && words[at-2:at] == ". " {
			name = i
		}
	}
	return 0
}

// degreesMeet are two figures of degrees, a comma between them, as a telephone gives a place: 46.71211, 2.30015.
var degreesMeet = text.Pattern(`(-?\d{1,2}\.\d{3,}°?\s?[NS]?),(\s+-?\d{1,3}\.\d{3,})`)

// listParts cuts words at commas and dashes, but not within a place.
func listParts(words string) []string {
	const joint = "\x00"
	parts := listBreaks().Split(degreesMeet().ReplaceAllString(words, "$1"+joint+"$2"), -1)
	for i := range parts {
		parts[i] = strings.ReplaceAll(parts[i], joint, ",")
	}
	return parts
}

// sentences cuts words at commas and dashes, and at points before a capital or behind a detail.
func sentences(words string) (out []string) {
	for _, part := range listParts(words) {
		from := 0
		for {
			at := strings.Index(part[from:], ". ")
			if at += from; at < from || at+2 >= len(part) {
				break
			}
			next, _ := utf8.DecodeRuneInString(part[at+2:])
			behind, _, _ := strings.Cut(part[at+2:], ". ")
			if !unicode.IsUpper(next) && !(unicode.IsDigit(next) && (isDetail(part[:at]) || isDepthWord(part[:at]) ||
				isDetail(behind) || isDepthWord(behind))) {
				from = at + 2
				continue
			}
			out, part, from = append(out, strings.Trim(part[:at], " .")), part[at+2:], 0
		}
		if part = strings.TrimRight(strings.TrimSpace(part), "."); part != "" {
			out = append(out, part)
		}
	}
	if len(out) == 0 {
		return []string{words}
	}
	return out
}

func isPlace(text string) bool {
	return coordinateOf(text) && strings.ContainsAny(text, "0123456789") && len(text) > 6
}
