package share

import (
	"context"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
)

// What stands over finds - the name of a file or a sheet, a title, a row between them - may say of all of them what a
// cell says of one: do not publish, hoard, graves. The readers of sheets keep such rows in Report.Notes, as
// "SHEET, row 5: text" (SPEC 8.3), and each find says in Source where it stood.

// over is one such text with its scope.
type over struct {
	text     string
	of       phrase
	numbers  []string // folded, of the finds that it names; then it is said of these alone
	from, to int      // rows; 0: any
}

// overs are the texts over finds that ask for care, by sheet; those of the file stand under "".
type overs map[string][]over

// noteRow is a note of a row: the sheet, its row, the text.
var noteRow = later(`^(?:(.*), )?row (\d+): ((?s).*)$`)

// longestSection is how many words a row between finds has that is their heading and no sentence.
const longestSection = 6

// oversOf gathers them. Sentences count where they ask that something be kept back; of the dead and of treasure only
// a heading says that the finds below it are meant.
func oversOf(ctx context.Context, source Source) (overs, error) {
	out := overs{}
	for _, name := range []string{source.Head.Title, source.File} {
		out.name("", name)
	}
	rows, numbers, files := map[string][]int{}, map[string]bool{}, map[string]bool{} // of finds
	err := source.each(ctx, func(_ int, f *find.Find) error {
		numbers[find.FoldNumber(f.Number)] = true
		s := f.Source
		if s == nil {
			return nil
		}
		if _, known := rows[s.Sheet]; !known {
			out.name(strings.Clone(s.Sheet), s.Sheet)
		}
		rows[strings.Clone(s.Sheet)] = append(rows[s.Sheet], s.Row.Int())
		if file := strings.Clone(s.File); file != "" && !files[file] {
			files[file] = true
			out.name(file, path.Base(strings.ReplaceAll(file, "\\", "/")))
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	out.notes(source.Head.Notes, rows, numbers)
	return out, nil
}

// name adds the name of a file or a sheet, or a title, which is said of all finds in it.
func (o overs) name(key, text string) {
	p := phraseOf(parted(text))
	long := slices.DeleteFunc(slices.Clone(p), func(word string) bool { return len(word) <= 3 })
	if p.asks() || long.heads() { // ben-2025.xlsx is Ben's, and no bones
		o[key] = append(o[key], over{text: strings.Clone(text), of: p})
	}
}

func (o overs) notes(notes []string, rows map[string][]int, numbers map[string]bool) {
	type note struct {
		sheet, text string
		row         int
	}
	var all []note
	for _, text := range notes {
		n := note{text: text}
		if m := noteRow().FindStringSubmatch(text); m != nil {
			n.sheet, n.text = m[1], m[3]
			n.row, _ = strconv.Atoi(m[2])
		}
		all = append(all, n)
	}
	for i, n := range all {
		x := over{text: n.text, of: phraseOf(n.text)}
		asks := x.of.asks()
		about := scopeOf(n.text, numbers)
		if !asks && !x.of.heads() &&
			(len(about.numbers) == 0 && !x.of.speaks("nextOnes") || !x.of.speaks("precious")) {
			continue
		}
		finds := rows[n.sheet]
		short := len(x.of) <= longestSection || x.of.speaks("nextOnes")
		switch {
		case about.all:
		case len(about.numbers) > 0:
			x.numbers = about.numbers
		case short && slices.Contains(finds, n.row+1): // a heading between finds
			x.from = n.row
			for _, next := range all[i+1:] {
				if next.sheet == n.sheet && next.row > n.row {
					x.to = next.row
					break
				}
			}
		case short && len(finds) > 0 && n.row > 0 && n.row < slices.Min(finds): // a title
		case !asks:
			continue // a sentence about something that is no find
		}
		key := n.sheet
		if len(finds) == 0 { // a sheet of notes is about all of them
			key = ""
		}
		o[key] = append(o[key], x)
	}
}

// asks reports whether a text asks that something be kept back.
func (p phrase) asks() bool {
	kept := ask{p, "yes"}
	return p.speaks("silent") || p.forbids() || kept.says("", "headEither", "headKept", "headShown")
}

// heads reports whether a text, as a heading, says that what stands below it is of the dead or may be treasure.
func (p phrase) heads() bool {
	return p.speaks("remains") || p.speaks("headRemains") || p.speaks("headTreasure") || p.speaks("together")
}

// say adds what stands over a find to what its row says, and returns it.
func (o overs) say(s *said) (texts []string) {
	if len(o) == 0 || s.wordy {
		return nil
	}
	row, keys := 0, []string{""}
	if src := s.Source; src != nil {
		row = src.Row.Int()
		for _, key := range []string{src.Sheet, src.File} {
			if key != "" {
				keys = append(keys, key)
			}
		}
	}
	for _, key := range keys {
		for i := range o[key] {
			x := &o[key][i]
			if len(x.numbers) > 0 && !slices.Contains(x.numbers, find.FoldNumber(s.Number)) ||
				x.from > 0 && (row <= x.from || x.to > 0 && row >= x.to) {
				continue
			}
			s.all = append(s.all, x.of)
			s.asks = append(s.asks, ask{x.of, "yes"})
			texts = append(texts, x.text)
		}
	}
	return texts
}
