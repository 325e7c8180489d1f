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
	"maps"
	"slices"
	"strings"

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

// ready is what an ask is put to finds with.
type ready struct {
	allowed bool     // made of a list of terms
	ways    []way    // what will do, with the ways to its members
	needs   []string // members of which it may be unsure: Needs
	must    bool     // a find without it is not good
	back    bool     // nobody can answer it but where the find was made
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

// read are the words of terms with the codes that they are read as.
func (t *Terms) read() map[string]string {
	out := maps.Clone(t.Words)
	for code, word := range t.Preferred {
		if out == nil {
			out = map[string]string{}
		}
		out[word] = code
	}
	return out
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
