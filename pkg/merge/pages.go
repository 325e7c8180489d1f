package merge

import (
	"bytes"
	"context"
	_ "embed"
	"fmt"
	"html/template"
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
)

// String says in a line what a source holds and what came of it.
func (s *Sent) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s", s.File, many(s.Finds, "find"))
	if len(s.People) > 0 && len(s.People) <= 4 {
		b.WriteString(" (" + strings.Join(s.People, ", ") + ")")
	}
	if s.Fields > 0 {
		b.WriteString(" in " + many(s.Fields, "field"))
	}
	if s.First != "" {
		b.WriteString(", " + s.First)
		if s.Last != s.First {
			b.WriteString(" to " + s.Last)
		}
	}
	if s.Also > 0 {
		fmt.Fprintf(&b, "; %d of them stand in another log too", s.Also)
	}
	if s.Unread > 0 {
		fmt.Fprintf(&b, "; %s could not be read (findslip check says where)", many(s.Unread, "row"))
	}
	return b.String()
}

func many(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// Audiences reports whether the sources were made for different audiences.
func (m *Merged) Audiences() bool {
	return slices.ContainsFunc(m.sources, func(s *source) bool { return s.head.Audience != m.sources[0].head.Audience })
}

// Folders says in which folder the pictures of each source are looked for now; nil where they stay as they were.
func (m *Merged) Folders() (out []string) {
	if !m.foldered {
		return nil
	}
	for _, s := range m.sources {
		out = append(out, s.label+" in "+s.folder)
	}
	return out
}

// A Page is for the owner of one source.
type Page struct {
	Name string
	HTML []byte
}

//go:embed page.html.tmpl
var pageText string

type pageData struct {
	Tool, File, Line, People string
	Sent                     Sent
	Asked                    []asked
	Safety, Look             []job
}

// job is something that the owner of a source is to look at, and where.
type job struct{ Say, Where string }

// jobsOf puts the jobs of a verdict into words.
func jobsOf(lists ...[]render.Job) (out []job) {
	const most = 6
	for _, list := range lists {
		for _, j := range list {
			var places []string
			for i := range j.Examples[:min(most, len(j.Examples))] {
				places = append(places, j.Examples[i].Place())
			}
			places = slices.Compact(places)
			if j.Count > most {
				places = append(places, fmt.Sprintf("and %d more", j.Count-most))
			}
			say := strings.TrimSpace(render.AsSentence(j.Say) + " " + render.AsSentence(j.Do))
			out = append(out, job{say, strings.Join(places, ", ")})
		}
	}
	return out
}

// asked is a question as the owner of one source reads it. What other sources say is not shown.
type asked struct{ Title, Text, Yours string }

// Pages makes a page for the owner of each source. It shows nothing of the others.
func (m *Merged) Pages(ctx context.Context, tool string) (pages []Page, err error) {
	tmpl, err := template.New("page").Funcs(template.FuncMap{"clean": render.Clean, "look": render.Look}).Parse(pageText)
	if err != nil {
		return nil, err
	}
	for i, s := range m.sources {
		sent := m.Decisions.Sources[i]
		data := pageData{Tool: tool, File: s.label, Line: sent.String(), Sent: sent, Asked: m.askedOf(s)}
		v, err := m.verdict(ctx, s)
		if err != nil {
			return nil, err
		}
		data.Safety, data.Look = jobsOf(v.Safety), jobsOf(v.Law, v.Wrong, v.Look, v.About)
		var out bytes.Buffer
		if err := tmpl.Execute(&out, data); err != nil {
			return nil, err
		}
		pages = append(pages, Page{Name: s.folder + ".html", HTML: out.Bytes()})
	}
	return pages, nil
}

// verdict is what a check of one source comes to.
func (m *Merged) verdict(ctx context.Context, s *source) (*render.Verdict, error) {
	o := m.o.Read
	o.Brief, o.Level = true, "" // the default
	r, err := pipeline.Check(ctx, s.name, o)
	if err != nil {
		return nil, err
	}
	d := r.Document("", o)
	return d.Verdict("en"), nil
}

// askedOf puts the questions that concern a source into words.
func (m *Merged) askedOf(s *source) (out []asked) {
	for i := range m.Decisions.Questions {
		q := &m.Decisions.Questions[i]
		k := slices.IndexFunc(q.Sides, func(side Side) bool { return slices.Contains(side.From, s.label) })
		if k < 0 || q.Decision != "" {
			continue
		}
		a := asked{Yours: plain(q.Sides[k].Says)}
		switch q.Kind {
		case "newer":
			a = asked{Title: "Two states of your log came in", Text: "Which is the one to go by where they differ: " +
				strings.Join(filesOf(q), ", ") + "?"}
		case "member":
			a.Title = "Find " + q.Find + ": " + strings.ToLower(spaced(q.Member))
			a.Text = "Another log says otherwise of the same find. Is yours right?"
		case "same-find":
			a.Title, a.Text = "Find "+q.Find, "It looks like a find in another log. Is it one and the same object?"
		case "identity":
			a.Title, a.Text = "Find "+q.Find,
				"Its id stands in another log for what looks like another find. Was the table copied from somebody?"
		case "log":
			a = asked{Title: "The name of your file", Text: "Another log bears the same name. Is it the same log?"}
		case "person":
			a.Title, a.Text = "Somebody in your log", "Is this the same person as one in another log?"
		case "permission":
			a.Title, a.Text = "A field in your log", "Is it the field of the same name in another log? Who gave you permission?"
		case "outing":
			a.Title, a.Text = "A day in your log", "Was this the same outing as one in another log?"
		}
		out = append(out, a)
	}
	return out
}

func filesOf(q *Question) (out []string) {
	for _, s := range q.Sides {
		out = append(out, s.From...)
	}
	return out
}

// spaced writes the name of a member as words.
func spaced(member string) string {
	var b strings.Builder
	for _, r := range member {
		if r >= 'A' && r <= 'Z' {
			b.WriteByte(' ')
		}
		b.WriteRune(r)
	}
	return b.String()
}

// plain shows a value as a person would write it.
func plain(raw jsontext.Value) string {
	var v any
	if len(raw) == 0 || json.Unmarshal(raw, &v) != nil {
		return ""
	}
	return plainOf(v)
}

func plainOf(v any) string {
	switch v := v.(type) {
	case map[string]any:
		for _, name := range []string{"verbatim", "label", "code"} {
			if text, ok := v[name].(string); ok {
				return text
			}
		}
		for _, name := range []string{"name", "date"} { // of a place, of the finding
			if text, ok := v[name].(string); ok && len(v) == 1 {
				return text
			}
		}
		var parts []string
		for _, name := range slices.Sorted(maps.Keys(v)) {
			if text := plainOf(v[name]); text != "" && !strings.HasSuffix(name, "ermission") &&
				!slices.Contains([]string{"finder", "consents", "grantedBy", "occupier", "people"}, name) {
				parts = append(parts, strings.ToLower(spaced(name))+": "+text)
			}
		}
		return strings.Join(parts, "; ")
	case []any:
		var parts []string
		for _, item := range v {
			parts = append(parts, plainOf(item))
		}
		return strings.Join(parts, ", ")
	case nil:
		return ""
	}
	return fmt.Sprint(v)
}
