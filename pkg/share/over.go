package share

import (
	"context"
	"fmt"
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
		if asks && len(about.numbers) == 0 {
			about = bareScope(n.text, numbers)
		}
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
	return p.speaks("remains") || p.speaks("police") || p.speaks("headRemains") || p.speaks("headTreasure") ||
		p.speaks("together")
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

// unseen holds back from the public the finds that their source does not show, or shows struck through: whoever hid a
// row may not have meant it for others. The owner is told of all of them, for whomever the copy is.
func (c *copier) unseen() error {
	type group struct{ place, how string }
	finds, rows := map[group][]int{}, map[group][]int{}
	asked := wanted(c.o.Finds)
	for i, how := range c.source.Unseen {
		if x := &c.finds[i]; x.why != "" || !asked(x.number) || c.o.Audience == Self ||
			c.o.Audience == Landowner && !c.own[x.permission] {
			continue
		}
		f, err := c.source.Finds.Get(i)
		if err != nil {
			return fmt.Errorf("reading find %d again: %w", i+1, err)
		}
		g, row := group{how: how}, 0
		if s := f.Source; s != nil {
			g.place, row = strings.Trim(s.File+", "+s.Sheet, ", "), s.Row.Int()
		}
		finds[g], rows[g] = append(finds[g], i), append(rows[g], row)
	}
	for g, list := range finds {
		text := rowsText(rows[g], g.place, g.how)
		if c.o.Audience != Public {
			c.out.Unseen = append(c.out.Unseen, text+" It stays in this copy")
			slices.Sort(c.out.Unseen)
			continue
		}
		for _, i := range list {
			c.finds[i].why = text
		}
	}
	return nil
}

// mostStretches is how many stretches of rows are named; the finds that stand in all of them are.
const mostStretches = 8

// rowsText asks about rows: rows 4 to 9, 12 of "Finds" are hidden.
func rowsText(rows []int, sheet, how string) string {
	of := ""
	if sheet != "" {
		of = fmt.Sprintf(" of %q", sheet)
	}
	slices.Sort(rows)
	rows = slices.Compact(rows)
	switch {
	case rows[len(rows)-1] == 0:
		return fmt.Sprintf("they are %s in the file: are they meant for others?", how)
	case len(rows) == 1:
		return fmt.Sprintf("row %d%s is %s: is it meant for others?", rows[0], of, how)
	}
	var stretches []string
	for i, j := 0, 0; i < len(rows); i = j {
		for j = i + 1; j < len(rows) && rows[j] == rows[j-1]+1; j++ {
		}
		stretch := fmt.Sprint(rows[i])
		if j-i > 1 {
			stretch += fmt.Sprintf(" to %d", rows[j-1])
		}
		stretches = append(stretches, stretch)
	}
	if more := len(stretches) - mostStretches; more > 0 {
		stretches = append(stretches[:mostStretches], fmt.Sprintf("%d more", more))
	}
	return fmt.Sprintf("rows %s%s are %s: are they meant for others?", strings.Join(stretches, ", "), of, how)
}

// unseenColumns holds the members of columns that the sheet does not show back from the public, of all finds.
func (c *copier) unseenColumns() {
	var headings []string
	hidden := map[string]bool{}
	for _, column := range c.source.Columns {
		for _, pointer := range column.Pointers {
			member := memberOf().ReplaceAllString(strings.ReplaceAll(pointer[1:], "/", "."), "$1")
			for _, leaf := range policyLeaves(member) {
				if column.Unseen && (c.action(leaf) != withhold || leaf == "finds.notes" && c.o.Notes) &&
					!slices.Contains(fixed, published().leaves[leaf]) {
					hidden[leaf] = true
					headings = append(headings, strconv.Quote(column.Heading))
				}
			}
		}
	}
	if slices.Sort(headings); len(headings) == 0 || c.o.Audience == Self {
		return
	}
	headings = slices.Compact(headings)
	text := "hidden columns count as shown: "
	if c.o.Audience == Public {
		c.unshown, c.o.Notes = hidden, c.o.Notes && !hidden["finds.notes"]
		text = "hidden columns are left out: "
	}
	c.out.Unseen = append(c.out.Unseen, text+strings.Join(headings, ", ")+"; are they meant for others?")
}

// memberOf takes places in lists out of a path, and makes all of a position one member.
var memberOf = later(`\.\d+|^(position)\..*`)
