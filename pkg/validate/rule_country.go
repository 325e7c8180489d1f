package validate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/country"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// mostCountries is how many countries a log may lie in for it to be said which; of more nothing can be told.
const mostCountries = 3

// countryGuess is what the positions of a log say of its country.
type countryGuess struct {
	n        int      // finds that were looked at
	in       []string // countries that all of them may lie in
	byGrid   bool
	treasure map[string][]string // by country, finds that may be treasure there
}

func (g *countryGuess) see(c *Case, ref Ref) {
	in, byGrid := countriesOf(c)
	if in == nil {
		return
	}
	if g.n++; g.n == 1 {
		g.in, g.byGrid = slices.Clone(in), byGrid
	} else {
		g.in = slices.DeleteFunc(g.in, func(code string) bool { return !slices.Contains(in, code) })
	}
	f := c.Find
	if len(g.in) != 1 || len(f.Materials) == 0 || c.precious() == law.No || reported(f) {
		return
	}
	there := *c
	there.said, there.facts.law, there.facts.treasure = nil, theTables().law.Of(g.in[0]), once[mayBe]{}
	if row, _, _ := treasureRow(&there); row != nil {
		if g.treasure == nil {
			g.treasure = map[string][]string{}
		}
		g.treasure[g.in[0]] = append(g.treasure[g.in[0]], ref.Label)
	}
}

// countriesOf returns the countries that a find may lie in by its grid, else by its point; nil: nothing is known.
func countriesOf(c *Case) (in []string, byGrid bool) {
	p := c.Find.Position
	point, ok := pointOf(p)
	if !ok || c.Find.Generalised["/position"] != "" || point == (coordinate.Point{}) {
		return nil, false
	}
	if in = country.OfGrid(p.ReferenceSystem, p.Verbatim); in != nil {
		return in, true
	}
	if in = country.OfPoint(point); in == nil {
		in = []string{}
	}
	return in, false
}

// words say in which countries the finds seem to lie, and what may be asked there; empty: nothing can be said.
func (g *countryGuess) words(language string) string {
	if g.n == 0 || len(g.in) == 0 || len(g.in) > mostCountries {
		return ""
	}
	by := "positions"
	if g.byGrid {
		by = "grid"
	}
	if len(g.in) > 1 {
		other := func(code string) bool { return !country.Speaks(code, language) }
		if own := slices.DeleteFunc(slices.Clone(g.in), other); len(own) == 1 {
			g.in, by = own, by+" and the language"
		}
	}
	names := make([]string, len(g.in))
	for i, code := range g.in {
		if names[i] = country.Name(code); names[i] != code {
			names[i] += " (" + code + ")"
		}
	}
	text := fmt.Sprintf("no country is given, so its law was not asked; by the %s the finds seem to lie in %s.", by,
		strings.Join(names, " or "))
	if len(g.in) > 1 {
		return text
	}
	here := theTables().law.Of(g.in[0])
	if finds := g.treasure[g.in[0]]; len(finds) > 0 {
		text += fmt.Sprintf(" If so, %s may be treasure there%s; ask before anything is cleaned, sold or given away.",
			labelled(finds), askOf(here, "treasure-metal"))
	}
	if ask := askOf(here, "licence"); ask != "" {
		text += " Searching there may need a licence" + ask + "."
	}
	if ask := askOf(here, "report"); ask != "" {
		text += " Old finds may have to be reported there" + ask + "."
	}
	return text
}

// askOf names who is asked by the first row of a rule that holds in a place whatever the ground.
func askOf(here *law.Place, rule string) string {
	for _, r := range here.On(rule, noDays.first, noDays.last) {
		if r.Holds == law.Yes && len(r.Applies.Ground) == 0 && r.Topic != "age" && r.Ask != "" {
			return " (ask: " + r.Ask + ")"
		}
	}
	return ""
}

var noDays span

// labelled names finds by their numbers, the first twelve of them.
func labelled(names []string) string {
	const most = 12
	switch n := len(names); {
	case n > most:
		return "numbers " + strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", n-most)
	case n == 1:
		return "number " + names[0]
	}
	return "numbers " + strings.Join(names, ", ")
}
