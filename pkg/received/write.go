package received

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/render"
)

// Text writes the table of senders, and what all of it together is good for.
func (s *Set) Text(w io.Writer) error {
	var b bytes.Buffer
	for i := range s.All {
		r := &s.All[i]
		fmt.Fprintf(&b, "%s: %d finds in %d logs, %d of them good.\n\n", r.Called("en"), r.Finds, len(s.Senders), r.Good)
		t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
		fmt.Fprintln(t, "SENDER\tFILE\tFINDS\tGOOD\tMISSING")
		for _, row := range s.table(i) {
			fmt.Fprintln(t, strings.Join(row, "\t"))
		}
		if err := t.Flush(); err != nil {
			return err
		}
		if lacks := r.Lacks("must"); len(lacks) > 0 {
			fmt.Fprintf(&b, "\nMissing over all: %s\n", lackWords(r, len(lacks)))
		}
	}
	for _, sender := range s.Senders {
		for _, text := range sender.Danger {
			fmt.Fprintf(&b, "\nSAFETY  %s: %s\n", render.Clean(sender.called()), render.Clean(text))
		}
	}
	if again := s.again(); len(again) > 0 {
		fmt.Fprintf(&b, "\nCame from more than one sender:\n")
		for _, line := range again {
			fmt.Fprintf(&b, "  %s\n", line)
		}
	}
	_, err := w.Write(b.Bytes())
	return err
}

// table has a row for each sender, for one receiver.
func (s *Set) table(receiver int) (rows [][]string) {
	for _, sender := range s.Senders {
		if sender.Err != nil {
			rows = append(rows, []string{render.Clean(sender.called()), render.Clean(sender.File), "", "",
				"could not be read: " + render.Clean(sender.Err.Error())})
			continue
		}
		r := &sender.Asked[receiver]
		missing := lackWords(r, 3)
		if r.Untold > 0 {
			missing = strings.TrimPrefix(missing+fmt.Sprintf("; cannot be told for %d", r.Untold), "; ")
		}
		if left := r.Finds - r.Covered; left > 0 {
			missing = strings.TrimPrefix(missing+fmt.Sprintf("; %d not for you", left), "; ")
		}
		rows = append(rows, []string{render.Clean(sender.called()), render.Clean(sender.File), fmt.Sprint(sender.Finds),
			fmt.Sprint(r.Good), missing})
	}
	return rows
}

// lackWords names the first of what is missing.
func lackWords(r *render.Receiver, most int) string {
	lacks := r.Lacks("must")
	var parts []string
	for i, a := range lacks {
		if i == most {
			parts = append(parts, fmt.Sprintf("and %d more", len(lacks)-most))
			break
		}
		parts = append(parts, fmt.Sprintf("%s (%d)", r.Words(a, "en"), a.Lacking))
	}
	return strings.Join(parts, ", ")
}

// called is the sender's name, else that of the file.
func (s *Sender) called() string {
	if s.Name != "" {
		return s.Name
	}
	return "(" + s.File + ")"
}

// again says which finds came from more than one sender.
func (s *Set) again() (lines []string) {
	for _, sender := range s.Senders {
		for _, a := range sender.Again {
			how := "looks the same as one"
			if a.Same {
				how = "is the same as one"
			}
			lines = append(lines, render.Clean(fmt.Sprintf("%s, find %s: %s in %s", sender.File, a.Find, how, a.File)))
		}
		if sender.More > 0 {
			lines = append(lines, render.Clean(fmt.Sprintf("%s: and %d more", sender.File, sender.More)))
		}
	}
	return lines
}

// JSON writes the set for programs.
func (s *Set) JSON(w io.Writer) error {
	type senderJSON struct {
		Sender  string   `json:"sender,omitzero"`
		File    string   `json:"file"`
		Error   string   `json:"error,omitzero"`
		Finds   int      `json:"finds"`
		Good    []int    `json:"good"` // by profile
		Missing []string `json:"missing"`
		Errors  int      `json:"errors"`
		Safety  []string `json:"safety,omitzero"`
		Again   []Again  `json:"again,omitzero"`
	}
	out := struct {
		Profiles []string     `json:"profiles"`
		Finds    int          `json:"finds"`
		Good     []int        `json:"good"`
		Senders  []senderJSON `json:"senders"`
	}{Profiles: []string{}, Finds: s.Finds, Good: []int{}, Senders: []senderJSON{}}
	for i := range s.All {
		out.Profiles, out.Good = append(out.Profiles, s.All[i].ID+" "+s.All[i].Version), append(out.Good, s.All[i].Good)
	}
	for _, sender := range s.Senders {
		one := senderJSON{Sender: sender.Name, File: sender.File, Finds: sender.Finds, Errors: sender.Wrong,
			Safety: sender.Danger, Again: sender.Again, Good: []int{}, Missing: []string{}}
		if sender.Err != nil {
			one.Error = sender.Err.Error()
		}
		for i := range sender.Asked {
			r := &sender.Asked[i]
			one.Good = append(one.Good, r.Good)
			for _, a := range r.Lacks("must") {
				one.Missing = append(one.Missing, fmt.Sprintf("%s: %d", a.Name, a.Lacking))
			}
		}
		out.Senders = append(out.Senders, one)
	}
	raw, err := json.Marshal(out, jsontext.WithIndent("  "))
	if err != nil {
		return err
	}
	_, err = w.Write(append(render.CleanJSON(raw), '\n'))
	return err
}

// A Letter is what is written to one sender.
type Letter struct {
	Sender, File, From, Contact string
	Finds, Good                 int
	Danger, Todo, Wishes, Again []string
}

// Letter returns the letter to a sender from the first of those who asked. A log that could not be read gets none.
func (s *Set) Letter(sender *Sender) (l Letter, ok bool) {
	if sender.Err != nil || len(sender.Asked) == 0 {
		return l, false
	}
	r := &sender.Asked[0]
	d := render.Document{Finds: sender.Finds}
	reception := d.Verdict("en").Reception(r)
	l = Letter{Sender: render.Clean(sender.called()), File: render.Clean(sender.File), From: r.Called("en"),
		Finds: sender.Finds, Good: r.Good, Danger: sender.Danger, Todo: reception.Todo, Wishes: reception.Wishes}
	if name := r.Named("en"); name != "" {
		l.From = name
	}
	for _, a := range sender.Again {
		l.Again = append(l.Again, render.Clean(a.Find))
	}
	slices.Sort(l.Again)
	return l, true
}

// Text writes the letter in plain words.
func (l *Letter) Text() string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("To %s", l.Sender)
	line("")
	for _, text := range l.Danger {
		line("SAFETY  %s", text)
	}
	line("Thank you for %s. It was read: %d finds, of which %d are as we need them.", l.File, l.Finds, l.Good)
	if len(l.Todo) > 0 {
		line("")
		line("For the others we still need:")
		for _, text := range l.Todo {
			line("  - %s", text)
		}
		line("If it was not measured, or is not known, write that in its place: it is an answer too.")
	}
	if len(l.Wishes) > 0 {
		line("")
		line("If you have it, we would also like:")
		for _, text := range l.Wishes {
			line("  - %s", text)
		}
	}
	if len(l.Again) > 0 {
		line("")
		line("These came from somebody else too; is it one find, or are there two? %s", strings.Join(l.Again, ", "))
	}
	line("")
	line("%s", l.From)
	return b.String()
}

//go:embed letter.html.tmpl
var letterPage string

var letterTemplate = template.Must(template.New("letter").Parse(letterPage))

// HTML writes the letter as a page.
func (l *Letter) HTML(w io.Writer) error { return letterTemplate.Execute(w, l) }
