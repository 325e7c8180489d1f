package received

import (
	"bytes"
	"cmp"
	"embed"
	"fmt"
	"html/template"
	"io"
	"path"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"unicode"
	"unicode/utf8"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/render"
)

// Text writes the table of senders, and what all of it together is good for.
func (s *Set) Text(w io.Writer) error {
	var b bytes.Buffer
	p := s.page()
	for _, text := range p.Danger {
		fmt.Fprintf(&b, "%s  %s\n\n", p.Safety, text)
	}
	for i := range p.Tables {
		table := &p.Tables[i]
		if i > 0 {
			fmt.Fprintln(&b)
		}
		fmt.Fprintf(&b, "%s\n\n", table.Head)
		t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
		fmt.Fprintln(t, strings.ToUpper(strings.Join(p.Columns, "\t")))
		for _, row := range table.Rows {
			fmt.Fprintln(t, strings.Join(row, "\t"))
		}
		if err := t.Flush(); err != nil {
			return err
		}
		if table.Over != "" {
			fmt.Fprintf(&b, "\n%s\n", table.Over)
		}
	}
	if len(p.Again) > 0 {
		fmt.Fprintf(&b, "\n%s\n", p.Twice)
		for _, line := range p.Again {
			fmt.Fprintf(&b, "  %s\n", line)
		}
	}
	_, err := w.Write(b.Bytes())
	return err
}

// HTML writes the same as a page.
func (s *Set) HTML(w io.Writer) error { return pages.ExecuteTemplate(w, "received", s.page()) }

// page is what is written of a set, in words.
type page struct {
	Lang          string
	Columns       []string
	Tables        []table // for each receiver one
	Safety, Twice string
	Danger, Again []string
}

type table struct {
	Head, Over string
	Rows       [][]string
}

func (s *Set) say(name string, pairs ...string) string { return render.Say(s.Language, name, pairs...) }

func (s *Set) page() *page {
	p := &page{Lang: cmp.Or(s.Language, "en"), Columns: strings.Split(s.say("tColumns"), ", "), Safety: s.say("safety"),
		Twice: s.say("tAgain"), Again: s.again()}
	for i := range s.All {
		r := &s.All[i]
		t := table{Head: s.say("tHead", "what", r.Called(s.Language), "finds", render.SayMany(s.Language, "finds", r.Finds),
			"logs", render.SayMany(s.Language, "tLogs", len(s.Senders)), "good", strconv.Itoa(r.Good)), Rows: s.rows(i)}
		if lacks := s.lacking(r, len(r.Asks)); lacks != "" {
			t.Over = s.say("tOver", "text", lacks)
		}
		p.Tables = append(p.Tables, t)
	}
	for _, sender := range s.Senders {
		for _, text := range sender.Danger {
			p.Danger = append(p.Danger, render.Clean(sender.called()+", "+text))
		}
	}
	return p
}

// rows has a row for each sender, for one receiver.
func (s *Set) rows(receiver int) (rows [][]string) {
	for _, sender := range s.Senders {
		row := []string{render.Clean(sender.called()), render.Clean(sender.File), "", "", ""}
		rows = append(rows, row)
		if sender.Err != nil {
			row[4] = s.say("tUnread", "text", render.Clean(sender.Err.Error()))
			continue
		}
		r := &sender.Asked[receiver]
		row[2], row[3] = strconv.Itoa(sender.Finds), strconv.Itoa(r.Good)
		parts := []string{s.lacking(r, 3)}
		if r.Untold > 0 {
			parts = append(parts, s.say("tUntold", "n", strconv.Itoa(r.Untold)))
		}
		if left := r.Finds - r.Covered; left > 0 {
			parts = append(parts, s.say("tOutside", "n", strconv.Itoa(left)))
		}
		row[4] = strings.TrimPrefix(strings.Join(parts, "; "), "; ")
	}
	return rows
}

// lacking names the first of what is missing. What nobody is to go back for is not asked for here either.
func (s *Set) lacking(r *render.Receiver, most int) string {
	lacks := slices.DeleteFunc(r.Lacks("must"), func(a *render.Asked) bool { return a.Lacking == a.Unasked })
	var parts []string
	for i, a := range lacks {
		if i == most {
			parts = append(parts, render.SayMany(s.Language, "morePlaces", len(lacks)-most))
			break
		}
		text := r.Words(a, s.Language)
		if a.Unread > 0 && a.Unread == a.Lacking-a.Unasked {
			text = s.say("unread", "what", text)
		}
		parts = append(parts, fmt.Sprintf("%s (%d)", text, a.Lacking-a.Unasked))
	}
	return strings.Join(parts, ", ")
}

// called is the sender's name, else that of the file.
func (s *Sender) called() string {
	if s.Name != "" {
		return s.Name
	}
	return s.File
}

// again says which finds came from more than one sender.
func (s *Set) again() (lines []string) {
	for _, sender := range s.Senders {
		for _, a := range sender.Again {
			how := "tAlike"
			if a.Same {
				how = "tSame"
			}
			lines = append(lines, render.Clean(s.say(how, "file", sender.File, "find", a.Find, "other", a.File)))
		}
		if sender.More > 0 {
			lines = append(lines, render.Clean(sender.File+": "+render.SayMany(s.Language, "morePlaces", sender.More)))
		}
	}
	return lines
}

// JSON writes the set for programs.
func (s *Set) JSON(w io.Writer) error {
	profiles, good, senders := []string{}, []int{}, []any{}
	for i := range s.All {
		profiles, good = append(profiles, s.All[i].ID+" "+s.All[i].Version), append(good, s.All[i].Good)
	}
	for _, sender := range s.Senders {
		good, missing, failed := []int{}, []string{}, ""
		if sender.Err != nil {
			failed = sender.Err.Error()
		}
		for i := range sender.Asked {
			r := &sender.Asked[i]
			good = append(good, r.Good)
			for _, a := range r.Lacks("must") {
				if a.Lacking > a.Unasked { // nobody is to go back for the others
					missing = append(missing, fmt.Sprintf("%s: %d", a.Name, a.Lacking-a.Unasked))
				}
			}
		}
		senders = append(senders, struct {
			Sender  string   `json:"sender,omitzero"`
			File    string   `json:"file"`
			Error   string   `json:"error,omitzero"`
			Finds   int      `json:"finds"`
			Good    []int    `json:"good"` // by profile
			Missing []string `json:"missing"`
			Errors  int      `json:"errors"`
			Safety  []string `json:"safety,omitzero"`
			Again   []Again  `json:"again,omitzero"`
		}{sender.Name, sender.File, failed, sender.Finds, good, missing, sender.Wrong, sender.Danger, sender.Again})
	}
	out := map[string]any{"profiles": profiles, "finds": s.Finds, "good": good, "senders": senders}
	raw, err := json.Marshal(out, json.Deterministic(true), jsontext.WithIndent("  "))
	if err != nil {
		return err
	}
	_, err = w.Write(append(render.CleanJSON(raw), '\n'))
	return err
}

// A Letter is what is written to one sender, in the body's own words.
type Letter struct {
	Lang, To, Title string
	Safety          string
	Danger          []string
	Parts           []Part
	From            string
}

// Part is a paragraph of a letter, with a list below it and what follows it.
type Part struct {
	Text  string
	Items []string
	After string
}

// Letter returns the letter to a sender from one of those who asked. Of a log that could not be read it says so.
func (s *Set) Letter(sender *Sender, of int) (l Letter) {
	file := render.Clean(path.Base(sender.File))
	l = Letter{Lang: cmp.Or(s.Language, "en"), To: s.say("lToSender", "file", file), Title: file, Safety: s.say("safety"),
		Danger: sender.Danger}
	if sender.Name != "" {
		l.To = s.say("lTo", "name", render.Clean(sender.Name))
		l.Title = render.Clean(sender.Name + ": " + file)
	}
	if sender.Err != nil {
		l.add(s.say("lBroken", "file", file), nil, "")
		l.sign(&s.All[of], s)
		return l
	}
	r := &sender.Asked[of]
	d := render.Document{Finds: sender.Finds}
	v := d.Verdict(s.Language)
	v.Theirs, v.Safety, v.NotKnown = true, sender.safety, sender.strange
	asked := v.Reception(r)
	good := render.SayMany(s.Language, "lGood", r.Good)
	switch {
	case r.Good == 0:
		good = s.say("lNone")
	case r.Good == sender.Finds:
		good = s.say("lAll")
	}
	l.add(s.say("lThanks", "file", file, "finds", render.SayMany(s.Language, "finds", sender.Finds))+" "+
		good, nil, "")
	if text := v.Alone(r); r.Others { // it is a danger that the log itself knows nothing of
		l.Danger = append(slices.Clone(l.Danger), text)
	} else if text != "" {
		l.add(text, nil, "")
	}
	l.add(s.say("lNeed"), v.Needs(r, false), s.say("lAnswer"))
	l.add(s.say("lNeedGiven"), v.Needs(r, true), "")
	l.add(s.say("lUnsure"), v.Unsure(r), "")
	l.add(s.say("lWish"), asked.Wishes, "")
	l.add(s.say("lWelcome"), asked.Welcome, "")
	var never []string
	for i := range r.Asks {
		if a := &r.Asks[i]; a.Strength == "never" {
			never = append(never, r.Words(a, s.Language))
		}
	}
	if text := asked.Strange; text != "" {
		l.add(text, nil, "")
	}
	l.add(s.say("lNever"), never, "")
	l.add(s.say("lOutside"), r.Beyond(s.Language), "")
	l.add(s.say("lAsk"), asked.Asks, "")
	var again []string
	for _, a := range sender.Again {
		again = append(again, a.Find)
	}
	slices.Sort(again)
	if len(again) > 0 {
		l.add(render.SayMany(s.Language, "lAgain", len(again)), []string{render.Places(s.Language, again)}, "")
	}
	l.add(s.say("lTold"), asked.Told, "")
	l.add(s.say("lPromise"), asked.Promise, "")
	l.sign(r, s)
	return l
}

// sign says who wrote the letter and how they are reached.
func (l *Letter) sign(r *render.Receiver, s *Set) {
	from, contact := r.Signed(s.Language)
	if l.From = capital(from); contact != "" {
		l.add(s.say("lContact", "text", contact), nil, "")
	}
}

// add adds a part; one that has a list for something has none where there is nothing. Lines begin with a capital.
func (l *Letter) add(text string, items []string, after string) {
	if strings.HasSuffix(text, ":") && len(items) == 0 {
		return
	}
	for i, item := range items {
		items[i] = capital(item)
	}
	l.Parts = append(l.Parts, Part{text, items, after})
}

func capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

// Text writes the letter in plain words.
func (l *Letter) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", l.To)
	for _, text := range l.Danger {
		fmt.Fprintf(&b, "%s  %s\n\n", l.Safety, text)
	}
	for _, part := range l.Parts {
		fmt.Fprintln(&b, part.Text)
		for _, item := range part.Items {
			fmt.Fprintf(&b, "  - %s\n", item)
		}
		if part.After != "" {
			fmt.Fprintln(&b, part.After)
		}
		fmt.Fprintln(&b)
	}
	fmt.Fprintln(&b, l.From)
	return b.String()
}

//go:embed *.html.tmpl
var files embed.FS

var pages = template.Must(template.ParseFS(files, "*.html.tmpl"))

// HTML writes the letter as a page.
func (l *Letter) HTML(w io.Writer) error { return pages.ExecuteTemplate(w, "letter", l) }
