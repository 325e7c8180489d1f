package pipeline

import (
	"slices"

	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/validate"
)

// Document returns the outcome as the renderers show it. Files are named without their folders.
func (r *Result) Document(tool string, o Options) render.Document {
	d := render.Document{Tool: tool, AsOf: o.Read.AsOf.String(), Finds: r.Summary.Finds,
		Levels: Receivers(r.Summary.Levels, o.Language), Asked: Receivers(r.Summary.Asked, o.Language), NotChecked: r.Summary.NotChecked,
		Notices: slices.Clone(r.Notices), Accepted: slices.Clone(r.Accepted),
		Deadlines: slices.Clone(r.Summary.Deadlines),
		Truncated: r.Truncated, Seen: []render.Seen{r.Seen}, Language: o.Language}
	d.Level = o.AskedLevel()
	for i := range d.Notices {
		d.Notices[i].File = baseOf(d.Notices[i].File)
	}
	if r.Truncated {
		d.Groups = r.Groups
	}
	d.Seen[0].File = baseOf(r.Seen.File)
	for i := range d.Accepted {
		d.Accepted[i].File = baseOf(d.Accepted[i].File)
	}
	for i := range d.Deadlines {
		d.Deadlines[i].File = baseOf(d.Deadlines[i].File)
	}
	return d
}

func baseOf(name string) string {
	if name == "" {
		return ""
	}
	return Base(name)
}

// AskedLevel is the id of the level that is asked for, empty where none is.
func (o *Options) AskedLevel() string {
	if o.Level == validate.NoLevel || len(o.Profiles) > 0 {
		return ""
	}
	return o.Level.String()
}

// Receivers are tallies as the renderers show them.
func Receivers(tallies []*profile.Tally, language string) (out []render.Receiver) {
	for _, t := range tallies {
		p := t.Profile
		r := render.Receiver{ID: p.ID, Version: p.State, Level: profile.Level(p.ID) == p, Title: p.Title,
			Languages: p.Languages, Finds: t.Finds, Covered: t.Covered, Good: t.Good, Untold: t.Untold}
		if p.Body != nil {
			r.Body, r.Contact = p.Body.Name, p.Body.Contact
		}
		for _, text := range p.Promises {
			r.Promises = append(r.Promises, text)
		}
		for _, q := range p.Questions {
			r.Questions = append(r.Questions, [2]map[string]string{q.Question, q.Answer})
		}
		for i, a := range p.Asks {
			n := &t.Asks[i]
			var needs []string
			for k, pointer := range a.Needs() {
				if n.Unsure>>k&1 == 1 {
					needs = append(needs, profile.MemberName(pointer, language))
				}
			}
			r.Asks = append(r.Asks, render.Asked{Name: a.Name, Strength: string(a.Strength), From: a.From, Title: a.Title,
				Why: a.Why, Who: a.Who, How: a.How, Asked: n.Asked, Lacking: n.Lacking, Untold: n.Untold,
				Unspoken: n.Unspoken, Finds: n.Places, Doubtful: n.Doubtful, Needs: needs})
		}
		for _, a := range p.Asks {
			if how := p.Beyond[a.Name]; how != "" {
				r.More = append(r.More, render.More{Title: a.Title, Why: a.Why, How: how})
			}
		}
		out = append(out, r)
	}
	return out
}
