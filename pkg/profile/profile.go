// Package profile reads what a receiver asks for, as one file: a recorder, a museum, a county, a club, a project
// or a landowner states in their own words which finds they want to hear of and what of them.
//
//	e, faults, err := profile.Load("county.findslip-profile.json", profile.Folder(os.DirFS(".")), profile.Known{})
//
// # Terms
//
// An [Ask] has a name, finds that it is about (when), members of them (ask), and one strength. A profile may build
// on another; the [Effective] profile is what results. A [Panel] puts the asks of one or more to finds, one at a
// time. A condition is true, false, or cannot be told: an ask that rests on such a one is not checked, never a pass.
//
// A profile adds asks and softens opinions. It holds no pattern, no address to fetch and nothing to run.
//
// This package is unstable: it may change between any two versions.
package profile

import (
	"cmp"
	"slices"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/render"
)

// Text is a sentence in several languages, by language tag.
type Text = render.Sentence

// Strength is how much an ask weighs: must, should, may or never.
type Strength string

// The strengths.
const (
	Must   Strength = "must"   // without it the find is not good for the body
	Should Strength = "should" // wished for
	May    Strength = "may"    // welcome
	Never  Strength = "never"  // not to be sent: taken out of the copy
)

// Profile is one file, as it was written.
type Profile struct {
	Version      string            `json:"findslipProfile"`
	ID           string            `json:"id"`
	State        string            `json:"version"`
	Title        Text              `json:"title"`
	Body         *Body             `json:"body,omitzero"`
	Languages    []string          `json:"languages,omitzero"`
	Valid        *Span             `json:"valid,omitzero"`
	Purpose      Text              `json:"purpose,omitzero"`
	Jurisdiction string            `json:"jurisdiction,omitzero"`
	BasedOn      *Base             `json:"basedOn,omitzero"`
	Covers       *Covers           `json:"covers,omitzero"`
	Asks         []*Ask            `json:"asks"`
	Terms        []Terms           `json:"terms,omitzero"`
	Headings     map[string]string `json:"headings,omitzero"`
	Rules        []Rule            `json:"rules,omitzero"`
	Settings     []Setting         `json:"settings,omitzero"`
	Waivers      []Waiver          `json:"waivers,omitzero"`
	Promises     []Text            `json:"promises,omitzero"`
	Questions    []Question        `json:"questions,omitzero"`
}

// Body is who asks.
type Body struct {
	Name    Text `json:"name"`
	Contact Text `json:"contact,omitzero"`
}

// Span is a first and a last day, ISO 8601; either may be missing.
type Span struct {
	From string `json:"from,omitzero"`
	To   string `json:"to,omitzero"`
}

// Base names the profile that another builds on.
type Base struct {
	Profile string `json:"profile"` // a plain file name, or the id of a shipped profile
	SHA256  string `json:"sha256"`
}

// Covers is the days, the land and the finds that a body wants to hear of.
type Covers struct {
	Span
	Area *Area      `json:"area,omitzero"`
	When *Condition `json:"when,omitzero"`
}

// Area is a GeoJSON polygon.
type Area struct {
	Type        string        `json:"type"`
	Coordinates [][][]float64 `json:"coordinates"`
}

// Ask is one thing that is asked of finds.
type Ask struct {
	Name     string     `json:"name"`
	Strength Strength   `json:"strength"`
	When     *Condition `json:"when,omitzero"`
	Ask      Wanted     `json:"ask"`
	Share    float64    `json:"share,omitzero"` // of a hundred finds so many are to have it; 0: each is
	Title    Text       `json:"title,omitzero"`
	Why      Text       `json:"why,omitzero"`
	Who      Text       `json:"who,omitzero"`
	How      Text       `json:"how,omitzero"`
	Example  Text       `json:"example,omitzero"`
	From     string     `json:"from,omitzero"` // id and version of the profile it was taken from

	allowed bool     // made of a list of terms
	ways    []way    // what will do, with the ways to its members
	needs   []string // members of which it may be unsure: Needs
	must    bool     // a find without it is not good
	back    bool     // nobody can answer it but where the find was made
}

// Wanted is members of which one is to be given, and what more is wanted of them.
type Wanted struct {
	Any       []string `json:"any"`
	Within    float64  `json:"within,omitzero"` // metres to which the position is to be known
	AtLeast   *float64 `json:"atLeast,omitzero"`
	AtMost    *float64 `json:"atMost,omitzero"`
	Figures   int      `json:"figures,omitzero"`   // of a grid reference that is as fine
	Precision string   `json:"precision,omitzero"` // day, month or year, to which a date is known
	OneOf     []string `json:"oneOf,omitzero"`
	Pixels    int      `json:"pixels,omitzero"`
	Given     bool     `json:"given,omitzero"` // a reason why it is not there does not do
	Or        []Wanted `json:"or,omitzero"`    // what does as well
}

// Ways returns what is wanted and what does as well, each by itself.
func (w *Wanted) Ways() []*Wanted {
	out := []*Wanted{w}
	for i := range w.Or {
		out = append(out, &w.Or[i])
	}
	return out
}

// Members are the pointers of all that will do, each once.
func (w *Wanted) Members() (out []string) {
	for _, way := range w.Ways() {
		for _, pointer := range way.Any {
			if !slices.Contains(out, pointer) {
				out = append(out, pointer)
			}
		}
	}
	return out
}

// Terms says which codes of a list a body works with, and what its people call them.
type Terms struct {
	Member  string            `json:"member"`
	Allowed []string          `json:"allowed,omitzero"`
	Words   map[string]string `json:"words,omitzero"`
}

// Rule changes how a rule of opinion is told.
type Rule struct {
	Rule   string `json:"rule"`
	Set    string `json:"set"` // on, off, warning, info
	Reason Text   `json:"reason"`
}

// Setting changes a figure that rules compare with.
type Setting struct {
	Setting string         `json:"setting"`
	Value   jsontext.Value `json:"value"`
	Reason  Text           `json:"reason"`
}

// Waiver is an ask that the body does without.
type Waiver struct {
	Ask    string     `json:"ask"`
	When   *Condition `json:"when,omitzero"`
	Reason Text       `json:"reason"`
	By     string     `json:"by"`
	On     string     `json:"on"`
	Until  string     `json:"until,omitzero"`
}

// Question is something that finders ask, and the answer; without one it is asked of them.
type Question struct {
	Question Text `json:"question"`
	Answer   Text `json:"answer,omitzero"`
}

// Language returns the first of the languages of a profile.
func (p *Profile) Language() string {
	if len(p.Languages) > 0 {
		return p.Languages[0]
	}
	return "en"
}

// In returns a text of the profile in a language, else in its first.
func (p *Profile) In(t Text, language string) string { return t.In(language, p.Language(), "en") }

// Label names the profile as ids do: its id and its version.
func (p *Profile) Label() string { return p.ID + " " + p.State }

// Called is the title of an ask in a language, else its name.
func (p *Profile) Called(a *Ask, language string) string {
	return cmp.Or(p.In(a.Title, language), strings.ReplaceAll(a.Name, "-", " "))
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
