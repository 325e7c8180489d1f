// Package law holds the published table of law and safety practice (schema/data/law.json) and answers what may apply
// in a place. It knows no find and no report: the rules of package validate ask it, and say what it answers.
package law

import (
	"slices"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/internal/memo"
	"github.com/findslip/findslip/pkg/validate/internal/phrase"
	"github.com/findslip/findslip/schema"
)

// Table is schema/data/law.json: what the law of a place and common safety practice may ask.
type Table struct {
	Checked     string              `json:"checked"`     // the day on which the rows were read
	Groups      map[string][]string `json:"groups"`      // EU to its members
	Parts       map[string][]string `json:"parts"`       // a country to the parts that have laws of their own
	Calls       map[string]string   `json:"calls"`       // whom to call in danger, by country; ZZ: anywhere
	Prehistoric []string            `json:"prehistoric"` // labels and ids of periods, lower case
	Hoard       Hoard               `json:"hoard"`       // words, by what they say of coins that may be a hoard
	Rows        []Row               `json:"rows"`

	rules  map[string][]*Row            // by what they ask
	places *memo.Memo[struct{}, *Place] // all that is asked often, by place
}

// Hoard is the words that tell old coins of silver and gold, and that somebody was told of them.
type Hoard struct {
	Old      *phrase.Set `json:"-"`
	Precious *phrase.Set `json:"-"`
	Told     *phrase.Set `json:"-"`
	Coins    *phrase.Set `json:"-"` // more than one
	Together *phrase.Set `json:"-"`
}

// UnmarshalJSON makes the sets of the lists of words.
func (h *Hoard) UnmarshalJSON(b []byte) error {
	var lists struct{ Old, Precious, Told, Coins, Together []string }
	if err := json.Unmarshal(b, &lists, json.MatchCaseInsensitiveNames(true)); err != nil {
		return err
	}
	h.Old, h.Precious, h.Told = phrase.New(), phrase.New(), phrase.New()
	h.Coins, h.Together = phrase.New(), phrase.New()
	h.Coins.Add(0, lists.Coins...)
	h.Together.Add(0, lists.Together...)
	h.Old.Add(0, lists.Old...)
	h.Precious.Add(0, lists.Precious...)
	h.Told.Add(0, lists.Told...)
	return nil
}

// Row is one thing that may apply in some places.
type Row struct {
	ID            string   `json:"id"`
	Jurisdictions []string `json:"jurisdictions"`
	Topic         string   `json:"topic"`
	Rule          string   `json:"rule"`
	Deadline      string   `json:"deadline"`
	Source        string   `json:"source"`
	Verified      string   `json:"verified"`
	Caution       string   `json:"caution"`
	Applies       struct {
		Rule     string `json:"rule"`
		MinAge   int    `json:"minAge"`
		Before   int    `json:"before"`
		Least    int    `json:"least"`
		Precious bool   `json:"precious"`
		Days     int    `json:"days"`
		Since    string `json:"since"`
	} `json:"applies"`
}

// Read reads the table.
func Read() (*Table, error) {
	table, err := schema.Table[Table]("law")
	t := &table
	t.rules = map[string][]*Row{}
	for i := range t.Rows {
		r := &t.Rows[i]
		t.rules[r.Applies.Rule] = append(t.rules[r.Applies.Rule], r)
	}
	t.places = memo.New(func(k memo.Key[struct{}]) *Place { return t.sortedOut(k.Text) })
	return t, err
}

// Asking returns the rows of a rule, in the order of the table.
func (t *Table) Asking(rule string) []*Row { return t.rules[rule] }

// InGroup reports whether a country belongs to a group of countries.
func (t *Table) InGroup(group, country string) bool {
	return slices.Contains(t.Groups[group], country)
}

// Holds reports whether a row holds in a place. A row for a country holds in its parts; whether a row
// for a part holds cannot be told where only the country, or a district of it, is stated.
func (t *Table) Holds(r *Row, place string) Answer {
	if place == "" {
		return No
	}
	country, _, _ := strings.Cut(place, "-")
	part := slices.Contains(t.Parts[country], place)
	result := No
	for _, j := range r.Jurisdictions {
		switch {
		case j == place, j == country, t.InGroup(j, country):
			return Yes
		case !part && len(j) > len(country) && j[:len(country)] == country && j[len(country)] == '-':
			result = CannotTell
		}
	}
	return result
}

// reaches reports whether a row holds in a place or may hold there.
func (t *Table) reaches(r *Row, place string) bool { return t.Holds(r, place) != No }

// Row returns the first row of a rule that may hold in a place, and the one for anywhere (ZZ) if
// there is no other.
func (t *Table) Row(rule, place string) *Row {
	var anywhere *Row
	for _, r := range t.rules[rule] {
		if t.reaches(r, place) {
			return r
		}
		if slices.Contains(r.Jurisdictions, "ZZ") && anywhere == nil {
			anywhere = r
		}
	}
	return anywhere
}

// Known reports whether there is any row of law for a place, beyond what holds anywhere.
func (t *Table) Known(place string) bool {
	for i := range t.Rows {
		r := &t.Rows[i]
		if r.Topic != "explosives" && !slices.Contains(r.Jurisdictions, "ZZ") && !slices.Contains(r.Jurisdictions, "EU") &&
			t.reaches(r, place) {
			return true
		}
	}
	return false
}

// Call names whom to call in danger in a place, with the number of the country.
func (t *Table) Call(place string) string {
	country, _, _ := strings.Cut(place, "-")
	for _, at := range [...]string{country, "EU", "ZZ"} {
		if call := t.Calls[at]; call != "" && (at != "EU" || t.InGroup("EU", country)) {
			return call
		}
	}
	return "the police"
}

// Words writes a row for a message: what may apply, where it is written, what was seen of it, and
// whom to ask.
func (r *Row) Words() string {
	s := r.Rule
	if r.Deadline != "" {
		s += " Time: " + r.Deadline + "."
	}
	return s + " Source: " + r.Written() + ". " + r.Caution
}

// Written names where a row is written, and what of it was not seen.
func (r *Row) Written() string {
	if r.Verified == "stored copy seen" {
		return r.Source
	}
	return r.Source + " (" + r.Verified + ")"
}

// Place is what the table of law holds for one place, sorted out for the rules that every find is
// asked by.
type Place struct {
	Code         string    // of the place, ISO 3166
	Known        bool      // there is a row beyond what holds anywhere
	SameFind     *Row      // under which finds are looked at together
	Coins        *Row      // of old coins together
	Prehistoric  *Row      // of prehistoric metal
	Metal        []*Row    // under which one object may be treasure for its metal
	Significance []*Row    // or for what it means
	Report       []HeldRow // duties to report
}

// HeldRow is a row that holds in a place, or may hold.
type HeldRow struct {
	*Row
	Holds Answer
}

// Of returns the law of a place.
func (t *Table) Of(place string) *Place {
	return t.places.Of(memo.Key[struct{}]{Text: place})
}

func (t *Table) sortedOut(place string) *Place {
	p := &Place{Code: place, Known: t.Known(place), SameFind: t.Row("treasure-same-find", place),
		Coins:       t.Row("treasure-coins", place),
		Prehistoric: t.Row("treasure-prehistoric", place)}
	reaching := func(rule string) []*Row {
		return slices.DeleteFunc(slices.Clone(t.rules[rule]), func(r *Row) bool { return !t.reaches(r, place) })
	}
	p.Metal, p.Significance = reaching("treasure-metal"), reaching("treasure-significance")
	for _, r := range reaching("report") {
		p.Report = append(p.Report, HeldRow{r, t.Holds(r, place)})
	}
	return p
}

// Answer is yes, no, or that the record does not tell.
type Answer uint8

// The answers. The zero value is that it cannot be told.
const (
	CannotTell Answer = iota
	No
	Yes
)
