package render

import (
	"fmt"
	"maps"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/notice"
)

// Seen is what was read of one file.
type Seen struct {
	File        string
	Table       bool // it has rows
	Finds       int
	Fields      int    // permissions or named places of the finds
	Days, Spots int    // finds with a day; with a field or a position
	Named       int    // finds that say what they are
	First, Last string // days of the finds, as 2026-04-12, 2026-04 or 2026; empty: none is known
	Dated       int    // finds whose day was understood
}

// Day takes the date of a find in: a day, a month, a year, or an interval of them.
func (s *Seen) Day(date string) {
	from, to, ok := strings.Cut(date, "/")
	if !ok {
		to = from
	}
	if from = plainDay(from); from != "" && (s.First == "" || from < s.First) {
		s.First = strings.Clone(from)
	}
	if to = plainDay(to); to > s.Last {
		s.Last = strings.Clone(to)
	}
	if from != "" || to != "" {
		s.Dated++
	}
}

// plainDay is a day without its marks of doubt; empty for what is no plain day, month or year.
func plainDay(text string) string {
	text = strings.TrimRight(text, "~?%")
	if len(text) != 4 && len(text) != 7 && len(text) != 10 {
		return ""
	}
	for i := range len(text) {
		if digit := text[i] >= '0' && text[i] <= '9'; digit == (i == 4 || i == 7) || !digit && text[i] != '-' {
			return ""
		}
	}
	if len(text) > 4 && text[5:7] > "12" {
		return "" // a season
	}
	if len(text) == 10 && text[8:] > "28" {
		if _, err := time.Parse(time.DateOnly, text); err != nil {
			return "" // no calendar has it
		}
	}
	return text
}

// A Job is one group of notices as it is told: a question or a AsSentence, and the way out.
type Job struct {
	*notice.Group
	Say, Do string
}

// An Unchecked is something that could not be checked, and what would allow it.
type Unchecked struct {
	What, Allow string
	Codes       []string
}

// A Verdict is what a check comes to, in the order in which it is reported.
type Verdict struct {
	Lines     []string // a line for each file: what was read, over which days, whether anything must be done
	Safety    []Job    // danger to life, human remains
	Law       []Job
	Wrong     []Job
	Look      []Job // what needs a second look
	About     []Job // said of the file once
	Info      []Job // good to know
	Read      []Job // how it was read
	Unchecked []Unchecked
	Others    int    // rules beside those of Unchecked that could not be applied somewhere
	Level     string // the highest level that every find meets; empty: none
	Next      string // the level that was asked for, where it is not met
	Lacks     []string
	Receivers []Reception // for whom it is good, the nearest first
	NotKnown  []string    // headings that were not understood, as written
	Theirs    bool        // the reader hears it from the receiver: its texts are not quoted
	theirs    string      // language of the texts of receivers, which may be one that Findslip does not speak

	speech                *speech
	naming                naming
	finds, questions      int // questions: how much of what is about the file wants an answer
	levelWords, nextWords string
	gaps                  string // what no find has, without which there is not much of a log
}

// lesser orders what needs a second look: what is wrong as a careful reader sees it before what only wants saying more
// plainly, so that of many jobs those that are cut off are the lesser ones.
func lesser(job Job) int {
	switch job.Kind.Group {
	case "reading", "conversion", "taken":
		switch job.Kind.Code {
		case "date-not-read", "position-not-read", "quantity-not-read", "total-differs":
			return 1
		}
		return 3
	case "identity", "permission", "sharing", "custody", "pictures", "code", "identification":
		if job.Kind.Code == "entered-twice" {
			return 0
		}
		return 2
	}
	return 0
}

// gapsOf says what no find has of day, place and name: a log without any of one is not done, it was not understood.
func (s *speech) gapsOf(d *Document) string {
	var all Seen
	for _, seen := range d.Seen {
		all.Finds, all.Days, all.Spots, all.Named = all.Finds+seen.Finds, all.Days+seen.Days, all.Spots+seen.Spots, all.Named+
			seen.Named
	}
	var out []string
	for i, n := range []int{all.Days, all.Spots, all.Named} {
		if n == 0 && all.Finds > 1 && all.Finds == d.Finds {
			out = append(out, s.text([]string{"none-day", "none-spot", "none-what"}[i]))
		}
	}
	return strings.Join(out, " ")
}

// Verdict returns what the check comes to, in a language.
func (d *Document) Verdict(language string) *Verdict {
	v := &Verdict{speech: speechOf(language), theirs: language, finds: d.Finds}
	groups := d.groups().List()
	v.naming = namingOf(groups)
	for _, g := range groups {
		if g.Kind.Code == "heading-unknown" {
			v.NotKnown = append(v.NotKnown, g.Field)
		}
	}
	v.naming.files = v.naming.files || len(d.Seen) > 1
	law := true
	for _, job := range v.speech.jobs(groups) {
		g := job.Group
		switch {
		case g.Kind.Code == "level-incomplete":
		case g.Kind.Reading():
			v.Read = append(v.Read, job)
		case g.Kind.Code == "law-not-checked":
			law = false // it says more than that no country is given
			v.About = append(v.About, job)
		case g.Kind.Danger():
			v.Safety = append(v.Safety, job)
		case g.Kind.Caution:
			v.Law = append(v.Law, job)
		case g.Kind.Severity == notice.Error:
			v.Wrong = append(v.Wrong, job)
		case ofFile(g) && g.Kind.Code != "total-differs":
			if v.About = append(v.About, job); g.Kind.Severity == notice.Warning {
				v.questions++ // such as whether a word is the field
			}
		case g.Kind.Severity == notice.Warning:
			v.Look = append(v.Look, job)
		default:
			v.Info = append(v.Info, job)
		}
	}
	v.unchecked(d, law)
	v.levels(d)
	v.gaps = v.speech.gapsOf(d)
	slices.SortStableFunc(v.Look, func(a, b Job) int { return lesser(a) - lesser(b) })
	v.lines(d)
	return v
}

// jobs puts groups in words. Groups of one code that are put in the same words are one job, whatever their
// fields, and what only follows from another notice at the same places is none.
func (s *speech) jobs(groups []*notice.Group) (jobs []Job) {
	type key struct{ code, file, say, do string }
	index := map[key]int{}
	for _, g := range groups {
		say, do := s.say(g)
		k := key{g.Kind.Code, g.File, say, do}
		if at, ok := index[k]; ok {
			jobs[at].Group = notice.Merge(jobs[at].Group, g)
			continue
		}
		index[k] = len(jobs)
		jobs = append(jobs, Job{g, say, do})
	}
	return slices.DeleteFunc(jobs, func(job Job) bool { return followed(job, jobs) })
}

// follows are codes that say no more than another code does at the same place.
var follows = map[string]string{"quantity-not-read": "several-not-counted", "number-missing": "schema-required"}

// followed reports whether each place of a job is one of the notice that it follows from.
func followed(job Job, jobs []Job) bool {
	cause := follows[job.Kind.Code]
	if cause == "" || job.Count > len(job.Examples) {
		return false
	}
	type place struct {
		at      notice.Location
		pointer string
	}
	of := func(n *notice.Notice) place { // a depth of the same row is another matter than its count
		if job.Kind.Code == "number-missing" {
			return place{placeOf(n.Location), ""}
		}
		return place{placeOf(n.Location), n.Pointer}
	}
	places := map[place]bool{}
	for _, other := range jobs {
		if other.Kind.Code == cause {
			for i := range other.Examples {
				places[of(&other.Examples[i])] = true
			}
		}
	}
	return !slices.ContainsFunc(job.Examples, func(n notice.Notice) bool { return !places[of(&n)] })
}

// placeOf is the cell, or the find where there is none.
func placeOf(l notice.Location) notice.Location {
	if l.Row > 0 {
		return notice.Location{File: l.File, Sheet: l.Sheet, Row: l.Row}
	}
	return notice.Location{File: l.File, Find: l.Find, Line: l.Line}
}

// ofFile reports whether a group is about the file or its columns, not about finds.
func ofFile(g *notice.Group) bool {
	n := &g.Examples[0]
	return n.Find == "" && !strings.HasPrefix(n.Pointer, "/finds/") && (n.Row == 0 || n.Heading != "" || n.Pointer == "")
}

// unchecked brings together what could not be checked by what would allow it.
func (v *Verdict) unchecked(d *Document, law bool) {
	told := map[string]bool{"law-not-checked": true, "level-incomplete": true}
	spoken := slices.ContainsFunc(v.Law, func(job Job) bool {
		return job.Kind.Code == "law-depth" || job.Kind.Code == "below-plough-depth"
	})
	told["below-plough-depth"] = spoken // where a law or another field has spoken of depth, it would be confusing
	checks := v.speech.Checks
	if len(checks) == 0 && v.speech.english != nil {
		checks = v.speech.english.Checks
	}
	for _, c := range checks {
		var codes []string
		for _, code := range c.Codes {
			if d.NotChecked[code] > 0 && !(spoken && code == "below-plough-depth") && (law || code != "law-not-checked") {
				codes = append(codes, code)
				told[code] = true
			}
		}
		if codes != nil {
			v.Unchecked = append(v.Unchecked, Unchecked{c.What, c.Allow, codes})
		}
	}
	for code := range d.NotChecked {
		if !told[code] {
			v.Others++
		}
	}
}

// mostLacks is how many things that lack for a level are named.
const mostLacks = 5

// levels says which level every find meets, what lacks for the one asked, and what it comes to for receivers.
func (v *Verdict) levels(d *Document) {
	language := v.speech.Language
	for i := range d.Levels {
		if l := &d.Levels[i]; d.Finds > 0 && l.Good == d.Finds {
			v.Level, v.levelWords = l.ID, l.Called(language)
		}
	}
	if d.Finds == 0 {
		return
	}
	for _, r := range d.Nearest() {
		v.Receivers = append(v.Receivers, v.Reception(r))
	}
	for i := range d.Asked {
		if r := &d.Asked[i]; r.Level && r.ID == d.Level {
			v.lacking(r)
		}
	}
}

// lacking says what finds lack for a level.
func (v *Verdict) lacking(r *Receiver) {
	if v.Lacks = v.speech.lacks(r); len(v.Lacks) > 0 {
		v.Next, v.nextWords = r.ID, r.Called(v.speech.Language)
	}
}

// lacks are the things that finds lack for a level, those that most lack first.
func (s *speech) lacks(r *Receiver) (out []string) {
	lacks := r.Lacks("must")
	for i, a := range lacks {
		if i == mostLacks {
			return append(out, s.many("morePlaces", len(lacks)-mostLacks))
		}
		text := r.Words(a, s.Language)
		if a.Lacking < r.Finds {
			text += s.many("someFinds", a.Lacking)
		}
		out = append(out, text)
	}
	return out
}

// A Standing is how far the finds are from a level.
type Standing struct {
	Level string   `json:"level"`
	Finds int      `json:"finds"`
	Good  int      `json:"good"`
	Lacks []string `json:"lacks,omitzero"`
}

// Standings tells it of each level, whichever was asked for.
func (d *Document) Standings() (out []Standing) {
	for i := range d.Levels {
		r := &d.Levels[i]
		out = append(out, Standing{r.ID, d.Finds, r.Good, speechOf(d.Language).lacks(r)})
	}
	return out
}

// lines makes the first line for each file.
func (v *Verdict) lines(d *Document) {
	s := v.speech
	for _, seen := range d.Seen {
		line := s.many("finds", seen.Finds)
		if seen.Fields > 0 {
			line += " " + s.many("fields", seen.Fields)
		}
		if seen.Last != "" && seen.Dated*2 >= seen.Days { // of one day among ten the span is none
			line += ", " + s.span(seen.First, seen.Last)
		}
		line = Clean(baseName(seen.File)) + s.colon() + line + "."
		if left := v.left(seen); left != "" {
			line += " " + left
		}
		v.Lines = append(v.Lines, line)
	}
	if len(v.Lines) == 0 {
		v.Lines = append(v.Lines, s.many("finds", d.Finds)+".")
	}
	v.Lines[len(v.Lines)-1] += " " + v.Todo()
}

// baseName is the name of a file without its folders, which are nobody's business.
func baseName(name string) string {
	if name == "" {
		return ""
	}
	return path.Base(filepath.ToSlash(name))
}

// left says which rows and sheets of a file were not read as finds.
func (v *Verdict) left(seen Seen) string {
	if !seen.Table {
		return ""
	}
	counts, tongue := map[string]int{}, ""
	for _, jobs := range [][]Job{v.Read, v.Look} {
		for _, job := range jobs {
			if job.Kind.Code == "language-worked-out" && job.File == seen.File && len(job.Examples) > 0 {
				tongue = " " + v.speech.text("readAs", "language", v.speech.tongue(job.Examples[0].Message))
			}
			if name := leftWords[job.Kind.Code]; name != "" && job.File == seen.File {
				counts[name] += job.Count
			}
		}
	}
	if len(counts) == 0 && seen.Finds > 0 {
		return v.speech.text("everyRow") + tongue
	}
	var parts []string
	for _, name := range slices.Sorted(maps.Keys(counts)) {
		parts = append(parts, v.speech.many(name, counts[name]))
	}
	return strings.Join(parts, " ") + tongue
}

// tongue returns the language that a notice says was worked out: in English, or as it calls itself.
func (s *speech) tongue(message string) string {
	for _, l := range lexicon.Languages() {
		if strings.Contains(message, l.English) && s.Language != "en" {
			return l.Name
		} else if strings.Contains(message, l.English) {
			return l.English
		}
	}
	return message
}

// leftWords are the texts of the frame that say what of a table is no find.
var leftWords = map[string]string{"row-not-a-find": "rowsLeft", "sheet-not-read": "sheetsLeft"}

// Todo says in a sentence whether anything must be done.
func (v *Verdict) Todo() string {
	s := v.speech
	switch {
	case len(v.Safety) > 0:
		return s.text("safetyFirst")
	case v.finds == 0 && len(v.Wrong)+len(v.Look) == 0:
		return s.text("noFinds")
	case len(v.Wrong) > 0:
		return s.many("mustDo", len(v.Wrong))
	case len(v.Look)+len(v.Law)+v.questions > 0:
		return strings.TrimSpace(s.many("mayLook", len(v.Look)+len(v.Law)+v.questions) + " " + v.gaps)
	case v.gaps != "":
		return v.gaps
	}
	return s.text("nothing")
}

// Good says what the log is good for now, and the step to the next level.
func (v *Verdict) Good() string {
	s := v.speech
	var parts []string
	if v.Level != "" {
		parts = append(parts, s.text("goodFor", "what", v.levelWords))
	}
	if v.Next != "" {
		parts = append(parts, s.text("step", "what", v.nextWords, "lacks", strings.Join(v.Lacks, ", ")))
	}
	return strings.Join(parts, " ")
}

// ReadText is one sentence on how the files were read, but for what the first line says of it.
func (v *Verdict) ReadText() string {
	var parts []string
	for _, job := range v.Read {
		if job.Kind.Code == "language-worked-out" || leftWords[job.Kind.Code] != "" {
			continue
		}
		text, _, _ := strings.Cut(job.Say, ";")
		if job.Count > 1 {
			text += fmt.Sprintf(" (%d)", job.Count)
		}
		parts = append(parts, text)
	}
	if parts == nil {
		return ""
	}
	if left := len(parts) - mostPlaces; left > 1 {
		parts = append(parts[:mostPlaces], v.speech.many("morePlaces", left))
	}
	return v.speech.text("howRead", "what", strings.Join(parts, "; "))
}

// UncheckedText is one sentence on all that could not be checked.
func (v *Verdict) UncheckedText() string {
	var parts []string
	for _, u := range v.Unchecked {
		parts = append(parts, fmt.Sprintf("%s (%s)", u.What, u.Allow))
	}
	if v.Others > 0 {
		parts = append(parts, v.speech.many("others", v.Others))
	}
	return strings.Join(parts, "; ")
}

// groups returns the groups of the document, made of its notices where nobody has counted them.
func (d *Document) groups() *notice.Groups {
	if d.Groups == nil {
		d.Groups = &notice.Groups{}
		for i := range d.Notices {
			d.Groups.Add(&d.Notices[i])
		}
	}
	return d.Groups
}

// CountIf returns how many notices are of a kind for which in reports true.
func (d *Document) CountIf(in func(*notice.Kind) bool) int { return d.groups().Count(in) }

// NewIf returns how many notices that the baseline does not have are of a kind for which in reports true.
func (d *Document) NewIf(in func(*notice.Kind) bool) (n int, err error) {
	if d.Baseline == nil {
		return d.CountIf(in), nil
	}
	if _, err := d.since(); err != nil {
		return 0, err
	}
	for _, g := range d.Groups.List() {
		if in(g.Kind) {
			n += g.New
		}
	}
	return n, nil
}

// Count returns how many notices have the severity.
func (d *Document) Count(s notice.Severity) int {
	return d.groups().Count(func(k *notice.Kind) bool { return k.Severity == s })
}

// Cautions returns how many notices are cautions.
func (d *Document) Cautions() int {
	return d.groups().Count(func(k *notice.Kind) bool { return k.Caution })
}

// unlisted returns the codes that could not be applied and of which no check of the speech tells.
func (v *Verdict) unlisted(d *Document) []string {
	told := map[string]bool{}
	for _, u := range v.Unchecked {
		for _, code := range u.Codes {
			told[code] = true
		}
	}
	return slices.DeleteFunc(slices.Sorted(maps.Keys(d.NotChecked)), func(code string) bool { return told[code] })
}
