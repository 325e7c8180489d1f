package render

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
)

// TextOptions steer Text. The zero value writes plain text without colour.
type TextOptions struct {
	Colour bool // ANSI colour; colour never alone carries meaning
	Most   int  // places shown of one folded notice; 0: 5
}

// Text writes notices for people at a terminal: cautions first, then errors, warnings and info. A
// notice that says the same of several finds is told once with its places.
func Text(w io.Writer, d Document, o TextOptions) error {
	d.sort()
	t := &textWriter{w: bufio.NewWriter(w), o: o, told: map[string]bool{}}
	if t.o.Most <= 0 {
		t.o.Most = 5
	}
	changes := d.since()
	groups := fold(d.Notices, changes)
	t.files = filesOf(d.Notices)
	t.section("Caution: law and safety", groups, func(n *notice.Notice) bool { return n.Kind.Caution })
	t.deadlines(d)
	for _, s := range []notice.Severity{notice.Error, notice.Warning, notice.Info} {
		title := map[notice.Severity]string{notice.Error: "Errors", notice.Warning: "Warnings", notice.Info: "For information"}[s]
		t.section(title, groups, func(n *notice.Notice) bool { return !n.Kind.Caution && n.Kind.Severity == s })
	}
	t.accepted(d)
	t.gone(changes)
	t.notChecked(d)
	t.summary(d)
	if changes != nil {
		fmt.Fprintf(t.w, "compared with %s: %d new, %d unchanged, %d gone\n", Clean(d.Baseline.Name), changes.newly, changes.staying, len(changes.gone))
	}
	return t.w.Flush()
}

// group is one notice with all the places where the same is said.
type group struct {
	first  *notice.Notice
	places []*notice.Notice
	change string // new or unchanged; empty: there is nothing to compare with
}

// fold brings together notices of one kind with one message. They stay in the order in which the
// first of each stands.
func fold(list notice.List, c *change) []*group {
	type key struct{ code, message, help, file, change string }
	index := map[key]*group{}
	var out []*group
	for i := range list {
		n := &list[i]
		k := key{n.Kind.Code, n.Message, n.HelpText() + strings.Join(n.Proposals, "\x00"), n.File, c.word(i)}
		g := index[k]
		if g == nil {
			g = &group{first: n, change: k.change}
			index[k] = g
			out = append(out, g)
		}
		g.places = append(g.places, n)
	}
	return out
}

type textWriter struct {
	w     *bufio.Writer
	o     TextOptions
	files []string        // files that notices are about
	told  map[string]bool // advice that has been given
}

// filesOf returns the files that notices are about, in order.
func filesOf(list notice.List) []string {
	var files []string
	for i := range list {
		if name := list[i].File; name != "" && !slices.Contains(files, name) {
			files = append(files, name)
		}
	}
	slices.Sort(files)
	return files
}

func (t *textWriter) section(title string, groups []*group, in func(*notice.Notice) bool) {
	open, file := false, ""
	left := t.leaveOut(groups, in)
	for _, g := range groups {
		if !in(g.first) {
			continue
		}
		if rest := left[g]; rest != nil {
			if rest[0] == g {
				t.rest(rest)
			}
			continue
		}
		if !open {
			fmt.Fprintf(t.w, "%s\n", t.paint("1", title))
			open = true
		}
		if len(t.files) > 1 && g.first.File != file {
			file = g.first.File
			fmt.Fprintf(t.w, " %s\n", Clean(file))
		}
		t.group(g)
	}
	if open {
		fmt.Fprintln(t.w)
	}
}

// mostGroups is how many groups of one code are told in full, where none is an error or a caution.
const mostGroups = 6

// leaveOut tells which groups are one too many of their code, each with all that are left out with
// it. The groups with most places are kept.
func (t *textWriter) leaveOut(groups []*group, in func(*notice.Notice) bool) map[*group][]*group {
	byCode := map[[2]string][]*group{}
	for _, g := range groups {
		if in(g.first) && !g.first.Kind.Caution && g.first.Kind.Severity != notice.Error {
			key := [2]string{g.first.Kind.Code, g.first.File}
			byCode[key] = append(byCode[key], g)
		}
	}
	out := map[*group][]*group{}
	for _, list := range byCode {
		if len(list) <= mostGroups {
			continue
		}
		bySize := slices.Clone(list)
		slices.SortStableFunc(bySize, func(a, b *group) int { return len(b.places) - len(a.places) })
		kept := bySize[:mostGroups-1]
		var rest []*group
		for _, g := range list {
			if !slices.Contains(kept, g) {
				rest = append(rest, g)
			}
		}
		for _, g := range rest {
			out[g] = rest
		}
	}
	return out
}

// rest tells of the groups of one code that are left out, and where each can be read.
func (t *textWriter) rest(groups []*group) {
	all := &group{first: groups[0].first}
	for _, g := range groups {
		all.places = append(all.places, g.places...)
	}
	fmt.Fprintf(t.w, "  %s: %s of this kind; --report html, csv or json tells each [%s]\n", t.paint(colourOf(all.first), plural(len(all.places), "more place")),
		plural(len(groups), "other notice"), all.first.Kind.Code)
	t.places(all)
}

func (t *textWriter) group(g *group) {
	n := g.first
	place := t.place(n)
	if len(g.places) > 1 {
		place = fmt.Sprintf("%d places", len(g.places))
	}
	if g.change != "" {
		place = g.change + ", " + place
	}
	fmt.Fprintf(t.w, "  %s: %s %s\n", t.paint(colourOf(n), place), Clean(n.Message), t.paint("2", "["+n.Kind.Code+"]"))
	if len(g.places) > 1 {
		t.places(g)
	}
	if len(n.Proposals) > 0 {
		fmt.Fprintf(t.w, "      perhaps: %s\n", Clean(strings.Join(n.Proposals, ", or ")))
	}
	// The same advice stands once, at the first notice that it is given for.
	if help := n.HelpText(); help != "" && !t.told[help] {
		t.told[help] = true
		fmt.Fprintf(t.w, "      %s\n", Clean(help))
	}
}

func (t *textWriter) places(g *group) {
	var names []string
	for i, n := range g.places {
		if i == t.o.Most {
			names = append(names, fmt.Sprintf("and %d more", len(g.places)-i))
			break
		}
		names = append(names, t.place(n))
	}
	fmt.Fprintf(t.w, "      at %s\n", strings.Join(names, ", "))
}

// place names the place as the sender knows it, with the number of the find.
func (t *textWriter) place(n *notice.Notice) string {
	place := placeWords(n)
	if place == "" && len(t.files) < 2 {
		place = n.File
	}
	if n.Find == "" || strings.HasPrefix(n.Find, "urn:") {
		place = cmp.Or(place, "the report")
	}
	if n.Heading != "" {
		place += fmt.Sprintf(" (%s)", n.Heading)
	}
	switch {
	case n.Find == "":
	case !strings.HasPrefix(n.Find, "urn:"):
		place = strings.TrimPrefix(place+", find "+n.Find, ", ")
	default:
		if index, ok := findIndex(n.Pointer); ok && n.Row == 0 {
			place += fmt.Sprintf(", find without a number (record %d)", index+1)
		}
	}
	return Clean(place)
}

// findIndex is the place of a find among those of the report, where a pointer leads into one.
func findIndex(pointer string) (index int, ok bool) {
	rest, ok := strings.CutPrefix(pointer, "/finds/")
	if !ok {
		return 0, false
	}
	number, _, _ := strings.Cut(rest, "/")
	index, err := strconv.Atoi(number)
	return index, err == nil
}

// counted counts the items of lists from 1, as people and the columns of tables do. What stands in
// columns and extensions has names of its own.
func counted(steps []string) []string {
	if len(steps) == 0 || steps[0] == "columns" || steps[0] == "extensions" {
		return steps
	}
	out := slices.Clone(steps)
	for i := 1; i < len(out); i++ {
		if index, err := strconv.Atoi(out[i]); err == nil && index >= 0 && strconv.Itoa(index) == out[i] {
			out[i] = strconv.Itoa(index + 1)
		}
	}
	return out
}

// listWords names one record of a list of the report.
var listWords = map[string]string{"finds": "find", "people": "person", "permissions": "permission", "outings": "outing", "accepted": "acceptance"}

// placeWords is the place of a notice in words: a pointer into the report becomes "permission 1:
// jurisdiction", for people who never see the JSON.
func placeWords(n *notice.Notice) string {
	place := n.Place()
	if n.Pointer == "" || place != n.Pointer {
		return place
	}
	parts := strings.Split(strings.TrimPrefix(n.Pointer, "/"), "/")
	for i := range parts {
		parts[i] = notice.Unescape(parts[i])
	}
	if word, ok := listWords[parts[0]]; ok && len(parts) > 1 {
		if index, err := strconv.Atoi(parts[1]); err == nil {
			if word == "find" && n.Find != "" {
				parts = counted(parts[2:]) // the number on the bag is said beside it
			} else {
				parts = append([]string{fmt.Sprintf("%s %d:", word, index+1)}, counted(parts[2:])...)
			}
		}
	}
	return strings.TrimSuffix(strings.Join(shortWay(parts), " "), ":")
}

func (t *textWriter) accepted(d Document) {
	if len(d.Accepted) == 0 {
		return
	}
	fmt.Fprintf(t.w, "%s\n", t.paint("1", "Accepted, with a reason"))
	for i := range d.Accepted {
		n := &d.Accepted[i]
		fmt.Fprintf(t.w, "  %s: %s [%s]\n      reason: %s\n", t.place(n), Clean(n.Message), n.Kind.Code, Clean(acceptedWords(n)))
	}
	fmt.Fprintln(t.w)
}

// acceptedWords is the reason with which a notice was accepted, and the day.
func acceptedWords(n *notice.Notice) string {
	if n.AcceptedOn == "" {
		return n.Accepted
	}
	return n.Accepted + " (" + n.AcceptedOn + ")"
}

// gone lists what an earlier report had and this one has not.
func (t *textWriter) gone(c *change) {
	if c == nil || len(c.gone) == 0 {
		return
	}
	fmt.Fprintf(t.w, "%s\n", t.paint("1", "Gone since the earlier report"))
	for _, g := range fold(c.gone, nil) {
		place := t.place(g.first)
		if len(g.places) > 1 {
			place = fmt.Sprintf("%d places", len(g.places))
		}
		fmt.Fprintf(t.w, "  %s: %s [%s]\n", place, Clean(g.first.Message), g.first.Kind.Code)
	}
	fmt.Fprintln(t.w)
}

func (t *textWriter) notChecked(d Document) {
	if len(d.NotChecked) == 0 {
		return
	}
	said := map[string]bool{} // a notice has told of it above
	for i := range d.Notices {
		said[d.Notices[i].Kind.Code] = said[d.Notices[i].Kind.Code] || strings.HasSuffix(d.Notices[i].Kind.Code, notCheckedSuffix)
	}
	codes := slices.DeleteFunc(slices.Sorted(maps.Keys(d.NotChecked)), func(code string) bool { return said[code] })
	if len(codes) == 0 {
		return
	}
	fmt.Fprintf(t.w, "%s\n", t.paint("1", "Not checked, because something it needs is not at hand"))
	// Those that lack the same thing lack it as often.
	byTimes := map[int][]string{}
	for _, code := range codes {
		byTimes[d.NotChecked[code]] = append(byTimes[d.NotChecked[code]], code)
	}
	for _, times := range slices.Backward(slices.Sorted(maps.Keys(byTimes))) {
		list := byTimes[times]
		if len(list) == 1 {
			fmt.Fprintf(t.w, "  %s: %s\n", list[0]+titleOf(d, list[0]), plural(times, "time"))
			continue
		}
		fmt.Fprintf(t.w, "  %s: %s each\n", strings.Join(list, ", "), plural(times, "time"))
	}
	fmt.Fprintln(t.w)
}

// notCheckedSuffix ends the codes of notices that say themselves what was not checked.
const notCheckedSuffix = "-not-checked"

// titleOf is the title of a code in brackets, where it is known.
func titleOf(d Document, code string) string {
	if d.Titles[code] == "" {
		return ""
	}
	return " (" + Clean(d.Titles[code]) + ")"
}

func (t *textWriter) summary(d Document) {
	fmt.Fprintf(t.w, "%s: %s, %s, %d for information, %s\n", plural(d.Finds, "find"), plural(d.Notices.Count(notice.Error), "error"),
		plural(d.Notices.Count(notice.Warning), "warning"), d.Notices.Count(notice.Info), plural(d.Notices.Cautions(), "caution"))
	for _, x := range d.Settings {
		fmt.Fprintf(t.w, "changed setting: %s is %s (default %s)\n", Clean(x.Name), Clean(x.Value), Clean(x.Default))
	}
	if d.Level == "" || d.Finds == 0 {
		return
	}
	fmt.Fprintf(t.w, "level %s: met by %d of %s", d.Level, d.Met[d.Level], plural(d.Finds, "find"))
	if len(d.Missing) > 0 {
		var parts []string
		for i, m := range d.Missing {
			if i == 4 {
				break
			}
			parts = append(parts, fmt.Sprintf("%s (%d)", m.Words(), m.Finds))
		}
		fmt.Fprintf(t.w, "; most often missing: %s", strings.Join(parts, ", "))
	}
	fmt.Fprintln(t.w)
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

func colourOf(n *notice.Notice) string {
	switch {
	case n.Kind.Caution:
		return "1;35"
	case n.Kind.Severity == notice.Error:
		return "31"
	case n.Kind.Severity == notice.Warning:
		return "33"
	}
	return "36"
}

func (t *textWriter) paint(code, s string) string {
	if !t.o.Colour {
		return s
	}
	return "\x1b[" + code + "m" + s + "\x1b[0m"
}
