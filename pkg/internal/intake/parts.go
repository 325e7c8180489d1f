package intake

import (
	"cmp"
	"errors"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Parts are texts of a record that make one member together: columns of a sheet, or properties of
// a feature.
type Parts struct {
	Found, FoundVerbatim   string
	Dating, DatingVerbatim string
	Latitude, Longitude    string
	Easting, Northing      string
	Axes                   [2]byte // of the two, as the heading says: E, N, X or Y; 0 for E and N
	Position               string  // as words: position.verbatim
	Own                    bool    // a program wrote the record: what is canonical stands for itself
}

// Column keeps a text under a heading; a second one under the same heading is set beside it.
func Column(f *find.Find, heading, text string) {
	if f.Columns == nil {
		f.Columns = map[string]string{}
	}
	if first := f.Columns[heading]; first != "" {
		text = first + "; " + text
	}
	f.Columns[heading] = text
}

// Join sets the members that more than one cell makes. What people write by hand goes beside the
// canonical value: the words of one column, or, where the sheet has both, each to its own. What
// says the position once more, and is no number that can stand beside the words, is kept among the
// columns, under the heading that heading returns for the field; the fields are returned.
func (v *Parts) Join(f *find.Find, heading func(field string) string) (kept []string) {
	if v.Found != "" || v.FoundVerbatim != "" {
		if f.Found == nil {
			f.Found = new(find.Found)
		}
		if f.Found.Verbatim = v.FoundVerbatim; f.Found.Verbatim == "" && v.Own && isEDTF(v.Found) {
			f.Found.Date = v.Found
		} else if f.Found.Verbatim == "" {
			f.Found.Verbatim = v.Found
		} else {
			f.Found.Date = v.Found
		}
	}
	if v.Dating != "" || v.DatingVerbatim != "" {
		if f.Dating == nil {
			f.Dating = new(find.Dating)
		}
		if f.Dating.Verbatim = v.DatingVerbatim; f.Dating.Verbatim == "" && v.Own && isEDTF(v.Dating) {
			f.Dating.Date = v.Dating
		} else if f.Dating.Verbatim == "" {
			f.Dating.Verbatim = v.Dating
		} else if _, err := edtf.Parse(v.Dating); err != nil && v.Dating != "" && v.Dating != v.DatingVerbatim {
			// A column for the period and one for the age, both in words: they are read as one text.
			f.Dating.Verbatim += ", " + v.Dating
		} else {
			f.Dating.Date = v.Dating
		}
	}
	return v.joinPosition(f, heading)
}

func (v *Parts) joinPosition(f *find.Find, heading func(field string) string) (kept []string) {
	keep := func(field, text string) {
		if text != "" {
			Column(f, heading(field), text)
			kept = append(kept, field)
		}
	}
	grid := func() {
		keep("position.easting", v.Easting)
		keep("position.northing", v.Northing)
	}
	text := v.Position
	switch {
	case text != "":
		lat, lon := v.canonicalPosition(f)
		if !lat {
			keep("position.latitude", v.Latitude)
		}
		if !lon {
			keep("position.longitude", v.Longitude)
		}
		grid()
	case (v.Latitude == "") != (v.Longitude == ""):
		// One axis alone is no place: a number goes where it belongs, and that the other is missing is seen.
		if lat, lon := v.canonicalPosition(f); !lat && !lon {
			text = v.Latitude + v.Longitude
		}
		grid()
	case v.Latitude != "":
		lat := false
		if v.Own {
			lat, _ = v.canonicalPosition(f)
		}
		if !lat {
			text = pair(v.Latitude, v.Longitude)
		}
		grid()
	case v.Easting == "" || v.Northing == "": // E 652381 alone would be a square of the Irish grid
		text = v.Easting + v.Northing
	default:
		text = pair(coordinate.Labelled(cmp.Or(v.Axes[0], 'E'), v.Easting),
			coordinate.Labelled(cmp.Or(v.Axes[1], 'N'), v.Northing))
	}
	if text == "" {
		return kept
	}
	if f.Position == nil {
		f.Position = new(find.Position)
	}
	f.Position.Verbatim = text
	return kept
}

func isEDTF(text string) bool {
	_, err := edtf.Parse(text)
	return err == nil
}

// pair joins two cells of one position; one of them alone stays as it is, for a person to see.
func pair(a, b string) string {
	return strings.Trim(a+", "+b, ", ")
}

// canonicalPosition takes numbers that stand beside the words of a position, and tells which it took.
// One alone is taken too: what was written is not lost, and that the other is missing is seen.
func (v *Parts) canonicalPosition(f *find.Find) (lat, lon bool) {
	take := func(text string) (find.Number, bool) {
		n, err := find.ParseNumber(text)
		return n, err == nil && n.Known()
	}
	latitude, lat := take(v.Latitude)
	longitude, lon := take(v.Longitude)
	if lat != lon && v.Latitude != "" && v.Longitude != "" {
		return false, false // one of a pair is no number: neither says anything without the other
	}
	if !lat && !lon {
		return false, false
	}
	if f.Position == nil {
		f.Position = new(find.Position)
	}
	f.Position.Latitude, f.Position.Longitude = latitude, longitude
	return lat, lon
}

// Pictures adds the pictures that a text names: one, or several with signs or words between them, where each
// has the ending of a file.
func Pictures(f *find.Find, text string) {
	ends := pictureEnding().FindAllStringIndex(text, -1)
	if names := betweenBare().Split(strings.TrimSpace(text), -1); len(ends) == 0 && len(names) > 1 {
		if !slices.ContainsFunc(names, func(name string) bool { return !bareName().MatchString(name) }) {
			for _, name := range names { // hm1a, hm1b
				addPicture(f, name)
			}
			return
		}
	}
	if len(ends) < 2 {
		addPicture(f, strings.TrimSpace(text))
		return
	}
	at := 0
	for i, end := range ends {
		stop := end[1]
		if i == len(ends)-1 && strings.Trim(text[stop:], " .,;") != "" {
			stop = len(text)
		}
		name := text[at:stop]
		at = stop
		if i > 0 {
			name = between().ReplaceAllString(name, "")
		}
		if name = strings.Trim(name, " \t\r\n,;|&+/"); name != "" {
			addPicture(f, name)
		}
	}
}

// addPicture names a picture: the first of which another column has told something, else one more.
func addPicture(f *find.Find, name string) {
	for i := range f.Media {
		if f.Media[i].File == "" {
			f.Media[i].File = name
			return
		}
	}
	f.Media = append(f.Media, find.Media{File: name})
}

var (
	pictureEnding = text.Pattern(`(?i)\.(?:jpe?g|png|heic|heif|tiff?|gif|webp|bmp|dng|mov|mp4|pdf)(?:$|[\s,;|&+/)])`)
	// A short word between two names of files: and, und, et, og, och.
	between = text.Pattern(`^[\s,;|&+/)]*(?:\pL{1,3}\s+)?`)
	// Names without endings: a word with two figures or more, or with a letter and a figure, and what parts them.
	bareName    = text.Pattern(`^(?:[\pL_-]+[0-9]+\pL{0,2}|[0-9]{2,}\pL{0,2})$`)
	betweenBare = text.Pattern(`\s*[,;]\s*|\s+(?:[&/+]|and|und|et|og|och|en)\s+|\s+`)
)

// SplitWords cuts the words of a waypoint, such as "crotal bell 9-10in", into what was found and how deep it lay: the
// longest end of the text that is read as a depth with its unit, or as the surface. Millimetres and what is deeper
// than anybody digs are left alone: they are rather a size. Common practice, no source.
func SplitWords(text string) (words, depth string) {
	fields := strings.Fields(text)
	for i := 1; i < len(fields); i++ {
		if strings.EqualFold(fields[i], "in") {
			continue // broken in 2
		}
		end := strings.TrimLeft(strings.Join(fields[i:], " "), ",;:-@ ")
		r, err := quantity.NormaliseLength(end, quantity.Options{})
		if err != nil || r.Said == quantity.MM || r.Absent != "" || !r.Min.Known && !r.Max.Known {
			continue
		}
		if deepest := max(r.Min.Value.Float(), r.Max.Value.Float()); deepest > mostDug || r.Said == quantity.NoUnit &&
			deepest > 0 && !slices.ContainsFunc(r.Notes, isDecimetre) {
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

// isDecimetre tells of a unit that is read but not listed.
func isDecimetre(n quantity.Note) bool { return n.Code == quantity.NoteUnitNotListed }

// TakeWords sets name, depth, weight, material and count of a find from the words of a waypoint, where they are not
// given already. The words stay under the heading where they were taken apart.
func TakeWords(f *find.Find, words, heading string) {
	name, took := TakeDetails(f, words, true)
	if took {
		Column(f, heading, words)
	} else {
		name = words
	}
	Unless(f, &f.Name, heading, name)
	if number, rest, ok := strings.Cut(name, " "); ok && f.Count == nil && severalOf(number, rest) {
		switch one, several := formOf(rest); {
		case several || !one && f.Number != "":
			f.Count = &find.Quantity{Verbatim: number}
		case one && f.Number == "": // 3 Ball: a number, where nobody counts one thing
			f.Number, f.Name = number, rest
			Column(f, heading, words)
		}
	}
	if m := timesBehind().FindStringSubmatch(name); m != nil && f.Count == nil {
		f.Count = &find.Quantity{Verbatim: m[1] + m[2]}
	}
}

// timesBehind is how many there were, behind their name: nails x3, buttons (5).
var timesBehind = text.Pattern(`^\pL.*?(?:\s+[x×]\s?([2-9]|[1-9][0-9])|\s*\(\s*[x×]?\s?([2-9]|[1-9][0-9])\))$`)

var (
	betweenDetails = text.Pattern(`(?i)\s*<br\s*/?>\s*|[,;]\s+|\s*\n\s*|\s+[-–]\s+`)
	fullStop       = text.Pattern(`(\pL+|[0-9]{4})\.(?:\s+|$)`)
	remarked       = text.Pattern(`^([^(]*[^( ])\s*(\([^)]*\))$`)
	pictureAlone   = text.Pattern(`(?i)^(?:\pL{2,10}\.?\s*:?\s*)?([\w-]+\.(?:jpe?g|png|heic|tiff?|webp))$`)
)

// details cuts a text into its parts, which end at commas, dashes, lines, and at a full stop before a label or behind a
// unit: "musket ball, lead. Depth: 15 cm. 27 g", but not "ca. 15 cm" nor "No. 3".
func details(text string) (parts []string) {
	for _, part := range betweenDetails().Split(text, -1) {
		from := 0
		for _, stop := range fullStop().FindAllStringSubmatchIndex(part, -1) {
			before, _ := vocabulary.Get("material").Match(part[stop[2]:stop[3]])
			_, err := quantity.ParseUnit(part[stop[2]:stop[3]])
			label, _, labelled := strings.Cut(part[stop[1]:], ":")
			next, _ := utf8.DecodeRuneInString(part[stop[1]:])
			begins := !unicode.IsLower(next) // 5 in. down
			day := IsDay(strings.TrimSpace(part[from:stop[3]]))
			if begins && (err == nil || before.Code != "" && stop[3]-stop[2] > 2 || day) ||
				labelled && heading.Understand(label).Field != "" {
				parts, from = append(parts, part[from:stop[3]]), stop[1]
			}
		}
		parts = append(parts, part[from:])
	}
	return parts
}

// TakeDetails takes depth, weight and material out of the parts of a text, as in "coin, silver, about 8 cm, 1.2 g",
// and returns the rest. Named says that the first part is a name, or begins with one.
func TakeDetails(f *find.Find, text string, named bool) (rest string, took bool) {
	var left []string
	for i, part := range details(text) {
		part, first := strings.TrimSpace(part), named && i == 0
		name, depth := SplitWords(part)
		if whole, deep := SplitWords("x " + part); whole == "x" && deep == part {
			name, depth = "", part
		}
		if m := remarked().FindStringSubmatch(part); m != nil && depth == "" && !first { // 6 cm (at dusk)
			if whole, deep := SplitWords("x " + m[1]); whole == "x" && deep == m[1] {
				name, depth = m[2], m[1]
			}
		}
		material, known := vocabulary.Get("material").Match(part)
		if label, thing, ok := strings.Cut(part, ":"); ok && named && strings.TrimSpace(thing) != "" &&
			heading.Understand(label).Field == "name" { // Object: spindle whorl
			left, took = slices.Insert(left, 0, strings.TrimSpace(thing)), true
			continue
		}
		if takeLabelled(f, part) || !first && takeTwo(f, part) {
			took = true
			continue
		}
		switch {
		case part == "":
		case depth != "" && f.Depth == nil && !(first && name == ""):
			f.Depth, took = &find.Depth{Quantity: find.Quantity{Verbatim: depth}}, true
			if name != "" && (first || !takeTwo(f, name)) {
				left = append(left, name)
			}
		case !first && isMass(part) && f.Weight == nil:
			f.Weight, took = &find.Quantity{Verbatim: part}, true
		case !first && known && material.Code != "" && len(f.Materials) == 0:
			f.Materials, took = []find.Material{{Term: find.Term{Verbatim: part}}}, true
		case !first && takeMiddle(f, part, &left):
			took = true
		default:
			left = append(left, part)
		}
		takeLast(f, name, first && depth != "")
	}
	return strings.Join(left, ", "), took
}

// takeLabelled takes a part that says what it is: Metal: brass.
func takeLabelled(f *find.Find, part string) bool {
	label, text, ok := strings.Cut(part, ":")
	if m := sideBehind().FindStringSubmatch(part); m != nil && strings.HasPrefix(heading.Understand(m[1]).Field,
		"dimensions.") {
		label, text, ok = m[1], m[2], true // Ø 17 mm
	}
	if text = strings.TrimSpace(text); !ok || text == "" || len(label) > 40 {
		return false
	}
	m := heading.Understand(label)
	if m.Hints.Unit != "" && strings.Trim(text, "0123456789.,- ") == "" {
		text += " " + m.Hints.Unit
	}
	switch {
	case m.Field == "found.date" && f.Found == nil:
		f.Found = &find.Found{Verbatim: text}
	case m.Field == "materials.1" && f.Materials == nil:
		f.Materials = []find.Material{{Term: find.Term{Verbatim: text}}}
	case m.Field == "depth" && f.Depth == nil:
		f.Depth = &find.Depth{Quantity: find.Quantity{Verbatim: text}}
	case m.Field == "weight" && f.Weight == nil:
		f.Weight = &find.Quantity{Verbatim: text}
	case m.Field == "count" && f.Count == nil:
		f.Count = &find.Quantity{Verbatim: text}
	case strings.HasPrefix(m.Field, "dimensions."):
		path, err := find.PathTo[find.Find](m.Field)
		return err == nil && find.Set(path, f, text) == nil
	default:
		return false
	}
	return true
}

var sideBehind = text.Pattern(`^(\pL{1,12}\.?|[Øø⌀])\s*([0-9][0-9.,]*\s?[cm]m)$`)

// takeMiddle takes a depth or a weight that stands between other words, and the material before them: silver 5in half
// only. The words that are left go to left.
func takeMiddle(f *find.Find, part string, left *[]string) bool {
	fields := strings.Fields(part)
	if len(fields) < 3 || len(fields) > 8 {
		return false
	}
	for n := min(3, len(fields)-1); n > 0; n-- {
		for i := range len(fields) - n {
			text := strings.Join(fields[i:i+n], " ")
			if text[0]-'0' > 9 || i == 0 && (!isMass(text) || len(fields) > n+3 ||
				strings.ContainsAny(strings.Join(fields[n:], ""), "0123456789+/")) { // 21 g les deux
				continue
			}
			whole, deep := SplitWords("x " + text)
			switch {
			case whole == "x" && deep == text && f.Depth == nil:
				f.Depth = &find.Depth{Quantity: find.Quantity{Verbatim: text}}
			case isMass(text) && f.Weight == nil:
				f.Weight = &find.Quantity{Verbatim: text}
			default:
				continue
			}
			before, behind := strings.Join(fields[:i], " "), strings.Join(fields[i+n:], " ")
			if material, known := vocabulary.Get("material").Match(before); known && material.Code != "" && f.Materials == nil {
				f.Materials = []find.Material{{Term: find.Term{Verbatim: before}}}
				before = ""
			}
			*left = append(*left, strings.TrimSpace(before+" "+behind))
			return true
		}
	}
	return false
}

// takeLast takes the material that is the last word of a name before a depth: buckle bronze 7-8in.
func takeLast(f *find.Find, name string, ok bool) {
	at := strings.LastIndexByte(name, ' ')
	if !ok || at < 0 || f.Materials != nil {
		return
	}
	if material, known := vocabulary.Get("material").Match(name[at+1:]); known && material.Code != "" {
		f.Materials = []find.Material{{Term: find.Term{Verbatim: name[at+1:]}}}
	}
}

// takeTwo takes a part that is nothing but a day, a material, a depth, a weight and a count, or a picture.
func takeTwo(f *find.Find, part string) bool {
	if m := pictureAlone().FindStringSubmatch(part); m != nil {
		f.Media = append(f.Media, find.Media{File: m[1]})
		return true
	}
	if f.Found == nil && (IsDay(part) || dayForm().MatchString(part)) { // 2026-15-10 too, which is asked for
		f.Found = &find.Found{Verbatim: part}
		return true
	}
	if m := piecesAlone().FindStringSubmatch(part); m != nil && f.Count == nil &&
		lexicon.Says("piece", strings.ToLower(m[1])) {
		f.Count = &find.Quantity{Verbatim: part}
		return true
	}
	fields, taken := strings.Fields(part), *f
	if len(fields) < 2 || len(fields) > 9 {
		return false
	}
	for at := 0; at < len(fields); {
		if at > 0 && at+1 < len(fields) && fields[at] == "/" { // copper / 4 in
			at++
		}
		n := min(4, len(fields)-at)
		for ; n > 0 && !takeOne(&taken, strings.Join(fields[at:at+n], " ")); n-- {
		}
		if n == 0 {
			return false
		}
		at += n
	}
	*f = taken
	return true
}

// takeOne takes a text that is one detail, which is not known yet.
func takeOne(f *find.Find, text string) bool {
	if material, known := vocabulary.Get("material").Match(text); known && material.Code != "" && f.Materials == nil {
		f.Materials = []find.Material{{Term: find.Term{Verbatim: text}}}
		return true
	}
	depth, err := quantity.NormaliseLength(text, quantity.Options{})
	switch {
	case !strings.ContainsAny(text, "0123456789"):
		return false
	case f.Found == nil && IsDay(text):
		f.Found = &find.Found{Verbatim: text}
	case f.Weight == nil && isMass(text):
		f.Weight = &find.Quantity{Verbatim: text}
	case f.Depth == nil && err == nil && depth.Said != quantity.NoUnit && depth.Said != quantity.MM:
		f.Depth = &find.Depth{Quantity: find.Quantity{Verbatim: text}}
	default:
		return false
	}
	return true
}

var (
	// dayForm has the form of a day, if only of one that is not there.
	dayForm = text.Pattern(`^(?:[12][0-9]{3}-[0-9]{2}-[0-9]{2}|[0-9]{1,2}([./-])[0-9]{1,2}[./-](?:19|` +
		`20)[0-9]{2})$`)
	piecesAlone = text.Pattern(`^[0-9]{1,3}\s*(\pL{1,8})\.?$`)
)

// Said returns what some words say of who found the thing, and behind a label of its land, its number, its age and its
// state, as texts with names.
func Said(words string) (out []Text) {
	said := map[string]bool{}
	for _, part := range details(words) {
		if name := heading.FinderIn(strings.TrimSpace(part), false); name != "" && !said["finder"] {
			out, said["finder"] = append(out, Text{Name: "finder", Text: name}), true
		}
		label, text, ok := strings.Cut(part, ":")
		label, text = strings.TrimSpace(label), strings.TrimSpace(text)
		if !ok || text == "" || len(label) > 40 || strings.HasPrefix(text, "//") {
			continue
		}
		field := heading.Understand(label).Field
		switch field {
		case "permission":
			if heading.RowWord("leave", label) {
				continue // Permission: Mrs Lovat, who gave it
			}
		case "place.name", "number", "dating.verbatim", "dating.date", "objectClass", "type", "condition.state":
		default:
			continue
		}
		if !said[field] {
			out, said[field] = append(out, Text{Name: label, Text: text}), true
		}
	}
	return out
}

// formOf reports whether words end, or begin, in a thing that is one, or in several: by the letters that another form
// of the word has more or less, else by the endings that many plurals have. Common practice, no source.
func formOf(words string) (one, several bool) {
	codes := vocabulary.Get("object-class")
	fields := strings.Fields(strings.Trim(strings.ToLower(words), " .,;:()"))
	for _, word := range fields {
		of, _ := codes.Match(word)
		same := func(form string) bool {
			m, _ := codes.Match(form)
			return m.Code == of.Code
		}
		if of.Code == "" {
			continue
		}
		for _, end := range []string{"s", "es", "e", "er", "en", "n", "r", "ar", "or", "i", "y"} {
			stem := strings.TrimSuffix(word, end)
			if several = several || stem != word && len(stem) > 2 && same(stem); several {
				return false, true
			}
			one = one || same(word+end)
		}
		return one, false
	}
	last := fields[max(0, len(fields)-1)]
	return false, strings.HasSuffix(last, "s") || strings.HasSuffix(last, "er") || strings.HasSuffix(last, "en")
}

// IsDay reports whether a text is a day, if only by an order of day and month that has to be known.
func IsDay(text string) bool {
	var e *edtf.Error
	day, err := edtf.NormaliseFound(text, edtf.Options{})
	return err == nil && len(day.Date.String()) == len("2025-04-12") || errors.As(err, &e) &&
		e.Code == "date-order-unknown"
}

// isMass reports whether a text is a weight with its unit, if only one that has to be asked for: gr.
func isMass(text string) bool {
	var e *quantity.Error
	mass, err := quantity.NormaliseMass(text, quantity.Options{})
	return err == nil && mass.Absent == "" && mass.Said != quantity.NoUnit || errors.As(err, &e) &&
		e.Code == quantity.CodeUnitAmbiguous
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
