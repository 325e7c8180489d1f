package render

import (
	"bufio"
	"cmp"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/notice"
)

// TextOptions steer Text. The zero value writes plain text without colour, 100 columns wide.
type TextOptions struct {
	Colour bool // ANSI colour; colour never alone carries meaning
	Width  int  // of the terminal; 0: 100
	All    bool // every job and remark, not the first few
	Short  bool // the verdict, safety and law, what is wrong, and a count of the rest
}

// What text tells without All.
const (
	mostJobs   = 7
	mostAbout  = 5
	mostPlaces = 4

	manyPlaces = 2000 // from here on a job is a line: nobody puts that much right by hand
	briefJobs  = 5
)

// Text writes the verdict for people at a terminal: what was read and whether anything must be done, safety and
// law, what is wrong, what needs a second look, what concerns the whole file, and what the log is good for.
func Text(w io.Writer, d Document, o TextOptions) error {
	d.sort()
	changes, err := d.since()
	if err != nil {
		return err
	}
	t := &textWriter{w: bufio.NewWriter(w), o: o, v: d.Verdict(d.Language)}
	if t.o.Width < 40 {
		t.o.Width = 100
	}
	t.brief = !o.All && t.v.placesOf(t.v.Safety, t.v.Law, t.v.Wrong, t.v.Look) >= manyPlaces
	for _, line := range t.v.Lines {
		t.wrap("", "  ", line)
	}
	t.first("safety", "1;35", t.v.Safety)
	t.first("law", "35", t.v.Law)
	t.deadlines(d)
	t.jobs(t.v.speech.text("wrong"), "31", t.v.Wrong)
	if o.Short {
		return t.short()
	}
	t.jobs(t.v.speech.many("look", t.v.placesOf(t.v.Look)), "33", t.v.Look)
	t.about(d)
	t.info()
	t.read()
	t.accepted(d)
	t.gone(changes)
	t.end(d, changes)
	return t.w.Flush()
}

type textWriter struct {
	w *bufio.Writer
	o TextOptions
	v *Verdict

	brief bool // a line a job, so that what there is stands on one screen
}

// placesOf counts the places of jobs.
func (v *Verdict) placesOf(lists ...[]Job) (n int) {
	for _, jobs := range lists {
		for _, job := range jobs {
			n += job.Count
		}
	}
	return n
}

// gap is a blank line, where there is room for one.
func (t *textWriter) gap() {
	if !t.brief {
		t.line()
	}
}

// cut shortens a text to so many lines of a brief report, with the code behind it.
func (t *textWriter) cut(text, code string, lines int) string {
	most := lines*(t.o.Width-8) - len(code) - 4
	if t.brief && utf8.RuneCountInString(text) > most {
		text = string([]rune(text)[:most])
		text = strings.TrimRight(text[:max(strings.LastIndexByte(text, ' '), 0)], " ,.;:") + " …"
	}
	if code == "" {
		return text
	}
	return text + " [" + code + "]"
}

func (t *textWriter) line(parts ...string) {
	for _, part := range parts {
		t.w.WriteString(part)
	}
	t.w.WriteByte('\n')
}

// wrap writes a text within the width, with an indent for its first line and one for the others.
func (t *textWriter) wrap(first, rest, text string) {
	at := visible(first)
	t.w.WriteString(first)
	for i, word := range strings.Fields(text) {
		size := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+size > t.o.Width:
			t.w.WriteString("\n" + rest)
			at = utf8.RuneCountInString(rest)
		default:
			t.w.WriteByte(' ')
			at++
		}
		t.w.WriteString(word)
		at += size
	}
	t.w.WriteByte('\n')
}

// first tells of safety or law: each once, what to do in the sentence, and who to ask.
func (t *textWriter) first(name, colour string, jobs []Job) {
	for i, job := range t.most(jobs) {
		if i == 0 {
			t.gap()
		}
		title := t.v.speech.text(name)
		text := t.v.places(job.Group, t.v.naming, t.places()) + ": " + AsSentence(job.Say) + t.adviceOnce(jobs[:i], job)
		if name == "law" {
			text = t.cut(text, job.Kind.Code, max(1, 2-i))
		} else {
			text += " [" + job.Kind.Code + "]"
		}
		t.wrap(t.paint(colour, title)+"  ", strings.Repeat(" ", utf8.RuneCountInString(title)+2), text)
	}
	t.rest(jobs)
}

// adviceOnce is the way out of a job, but where one before it has the same.
func (t *textWriter) adviceOnce(before []Job, job Job) string {
	if slices.ContainsFunc(before, func(b Job) bool { return b.Do == job.Do }) {
		return ""
	}
	return t.advice(job)
}

// advice is the way out of a job, behind its sentence.
func (t *textWriter) advice(job Job) string {
	if job.Do == "" || strings.Contains(job.Say, job.Do) {
		return ""
	}
	return " " + AsSentence(job.Do)
}

// jobs tells the first jobs under a title.
func (t *textWriter) jobs(title, colour string, jobs []Job) {
	if len(jobs) == 0 {
		return
	}
	t.gap()
	t.line(t.paint(colour, title))
	for _, job := range t.most(jobs) {
		t.job(job)
	}
	t.rest(jobs)
}

func (t *textWriter) most(jobs []Job) []Job {
	if t.o.All || len(jobs) == mostJobs+1 && !t.brief { // a line that says so is as long as the last one
		return jobs
	}
	if t.brief {
		return jobs[:min(len(jobs), briefJobs)]
	}
	return jobs[:min(len(jobs), mostJobs)]
}

func (t *textWriter) places() int {
	if t.brief {
		return 1
	}
	return mostPlaces
}

func (t *textWriter) rest(jobs []Job) {
	if left := len(jobs) - len(t.most(jobs)); left > 0 {
		t.line("  ", t.v.speech.many("moreJobs", left))
	}
}

// job writes the cells with what stands in them, and beside or below it the question and the way out.
func (t *textWriter) job(job Job) {
	places := t.v.places(job.Group, t.v.naming, t.places())
	if job.New > 0 {
		places = t.v.speech.text("new") + ": " + places
	}
	text := job.Say
	if perhaps := t.v.speech.proposed(&job.Examples[0]); perhaps != "" && job.Count == 1 {
		text = AsSentence(text) + " " + perhaps
	}
	if job.Do != "" {
		text = AsSentence(text) + " " + AsSentence(job.Do)
	}
	if t.brief {
		t.wrap("  ", "    ", t.cut(places+": "+text, job.Kind.Code, 1))
		return
	}
	text += " [" + job.Kind.Code + "]"
	if utf8.RuneCountInString(places)+utf8.RuneCountInString(text)+5 <= t.o.Width {
		t.line("  ", places, "   ", text)
		return
	}
	t.wrap("  ", "    ", places)
	t.wrap("      ", "      ", text)
}

// about tells what concerns the whole file, and what could not be checked.
func (t *textWriter) about(d Document) {
	most := len(t.v.About)
	if !t.o.All {
		most = min(most, mostAbout)
	}
	if most > 0 {
		t.gap()
		t.line(t.paint("1", t.v.speech.text("about")))
		for _, job := range t.v.About[:most] {
			t.job(job)
		}
		if left := len(t.v.About) - most; left > 0 {
			t.line("  ", t.v.speech.many("moreJobs", left))
		}
	}
	for _, x := range d.Settings {
		t.wrap("", "  ", t.v.speech.text("setting", "name", Clean(x.Name), "value", Clean(x.Value), "default",
			Clean(x.Default)))
	}
}

// info counts what is good to know, or tells it where all is asked for.
func (t *textWriter) info() {
	if t.o.All {
		t.jobs(t.v.speech.text("info"), "36", t.v.Info)
		return
	}
	if n := t.v.placesOf(t.v.Info); n > 0 && !t.brief {
		t.line()
		t.line(t.v.speech.many("infoCount", n))
	}
}

// read says in a sentence how the files were read, or place by place where all is asked for.
func (t *textWriter) read() {
	if t.o.All {
		t.jobs(t.v.speech.text("read"), "36", t.v.Read)
	} else if text := t.v.ReadText(); text != "" {
		t.gap()
		t.wrap("", "  ", t.cut(text, "", 1))
	}
}

// end tells what could not be checked, what the log is good for, and how it compares with an earlier report.
func (t *textWriter) end(d Document, changes *change) {
	if text := t.v.UncheckedText(); text != "" {
		t.gap()
		t.wrap("", "  ", t.cut(t.v.speech.text("notChecked", "what", text), "", 1))
	}
	if t.o.All {
		if codes := t.v.unlisted(&d); len(codes) > 0 {
			t.wrap("  ", "  ", "["+strings.Join(codes, ", ")+"]")
		}
	}
	if text := t.v.Good(); text != "" {
		t.wrap("", "  ", t.cut(text, "", 1))
	}
	for i, r := range t.v.Receivers {
		t.line()
		t.reception(r, i, len(t.v.Receivers))
	}
	if changes != nil {
		t.wrap("", "  ", t.v.since(&d, changes))
	}
}

// reception tells what the check came to for one receiver; where there are several, the nearest comes first.
func (t *textWriter) reception(r Reception, place, of int) {
	s := t.v.speech
	t.wrap("", "  ", r.Verdict)
	if of > 1 && place == 0 {
		t.wrap("  ", "  ", s.text("nearest"))
	}
	for i, part := range s.parts(r) {
		most := len(part.Lines)
		if !t.o.All {
			most = min(most, mostJobs)
		}
		t.wrap("  ", "  ", part.Heading)
		for _, line := range part.Lines[:most] {
			t.wrap("    ", "      ", line)
		}
		if left := len(part.Lines) - most; left > 0 {
			t.wrap("    ", "      ", s.many("moreJobs", left))
		}
		if n := len(r.Todo); of > 1 && n > 1 && i == 0 {
			t.wrap("  ", "  ", s.text("cheapest", "what", cmp.Or(r.Step, r.Todo[n-1])))
		}
	}
	for _, note := range r.Notes {
		t.wrap("  ", "  ", note)
	}
}

// short ends a text that tells no more than what is wrong.
func (t *textWriter) short() error {
	n := 0
	var own []Job // of the conversion itself, such as finds that could not be paired with those of an earlier one
	for _, job := range slices.Concat(t.v.Look, t.v.About, t.v.Info) {
		if job.Kind.Group == "conversion" {
			own = append(own, job)
		} else {
			n += job.Count
		}
	}
	t.jobs(t.v.speech.text("about"), "1", own)
	if n > 0 {
		t.line(t.v.speech.many("restCount", n))
	}
	return t.w.Flush()
}

func (t *textWriter) accepted(d Document) {
	if len(d.Accepted) == 0 {
		return
	}
	t.line()
	t.line(t.paint("1", t.v.speech.text("accepted")))
	most := len(d.Accepted)
	if !t.o.All {
		most = min(most, notice.MostExamples)
	}
	for i := range d.Accepted[:most] {
		n := &d.Accepted[i]
		t.wrap("  ", "      ", t.v.speech.place(n, t.v.naming)+": "+Clean(n.Message)+" ["+n.Kind.Code+"]. "+
			Clean(acceptedWords(n)))
	}
	if left := len(d.Accepted) - most; left > 0 {
		t.line("  ", t.v.speech.many("morePlaces", left))
	}
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
	t.line()
	t.line(t.paint("1", t.v.speech.text("gone")))
	for _, job := range t.most(t.v.speech.jobsOf(c.gone)) {
		t.wrap("  ", "      ", t.v.places(job.Group, t.v.naming, mostPlaces)+": "+job.Say+" ["+job.Kind.Code+"]")
	}
}

// jobsOf makes jobs of a list of notices.
func (s *speech) jobsOf(list notice.List) []Job {
	var groups notice.Groups
	for i := range list {
		groups.Add(&list[i])
	}
	return s.jobs(groups.List())
}

// AsSentence makes text that begins with a capital and ends with a mark.
func AsSentence(text string) string {
	r, size := utf8.DecodeRuneInString(text)
	if size > 0 {
		text = strings.ToUpper(string(r)) + text[size:]
	}
	if text != "" && !strings.ContainsRune(".?!:", rune(text[len(text)-1])) {
		text += "."
	}
	return text
}

// visible is the width of a text without its colours.
func visible(text string) int {
	n := utf8.RuneCountInString(text)
	for {
		_, after, found := strings.Cut(text, "\x1b[")
		if !found {
			return n
		}
		code, rest, _ := strings.Cut(after, "m")
		n -= len("\x1b[m") + len(code)
		text = rest
	}
}

func (t *textWriter) paint(code, s string) string {
	if !t.o.Colour {
		return s
	}
	return "\x1b[" + code + "m" + s + "\x1b[0m"
}
