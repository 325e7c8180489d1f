package validate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/country"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// mostCountries is how many countries a log may lie in for it to be said which; of more nothing can be told.
const mostCountries = 3

var countryWorkedOut = &Rule{
	Kind: notice.Kind{
		Code: "country-worked-out", Severity: notice.Info, Group: "law", Spec: "5.12",
		Title:  "no country is given; by the positions it may be this one",
		Why:    "the law differs from country to country, and boxes and grids do not tell it for sure",
		Help:   "Say it once, in a column Country: England, or GB-ENG. Then the law there is asked find by find.",
		Source: "schema/data/grid-countries.json and schema/data/countries.json: a question to the writer, never a fact",
		Before: `"position": {"referenceSystem": "EPSG:27700", "verbatim": "SP 527 901", …} without a country`,
		After:  `the same with "place": {"country": "GB-ENG"}`,
	},
	// When: The file has no `audience`, or `self`. Looked at are the finds without a law (as in `treasure-may-apply`) that
	// have a position with longitude and latitude, not named in `generalised`. Each may lie in the countries of its grid
	// (schema/data/grid-countries.json: by the letters of the square, else by `referenceSystem`), else in those whose
	// boxes hold the point (schema/data/countries.json; of a country with parts in the table, the parts). There are such
	// countries, no more than three, that all of these finds may lie in. Where it is one, the message also says which of
	// them may be treasure there, as in `treasure-may-apply`, and what else is asked there. Once, at the report.
	Across: func() Across {
		var g countryGuess
		return Across{
			Find: func(c *Case, ref Ref, _ Say) {
				if ours(c.Report) && c.law().Code == "" {
					g.see(c, ref)
				}
			},
			End: func(c *Case, say SayOf) {
				if g.n > 0 && len(g.in) > 0 && len(g.in) <= mostCountries {
					say(reportRef, "", g.words())
				}
			},
		}
	},
}

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
	if len(g.in) != 1 || len(f.Materials) == 0 || precious(f) == law.No || reported(f) {
		return
	}
	there := *c
	there.said, there.facts.law = nil, theTables().law.Of(g.in[0])
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

func (g *countryGuess) words() string {
	names := make([]string, len(g.in))
	for i, code := range g.in {
		names[i] = country.Name(code)
	}
	by := "positions"
	if g.byGrid {
		by = "grid"
	}
	text := fmt.Sprintf("no country is given; by the %s the finds seem to lie in %s.", by, strings.Join(names, " or "))
	if len(g.in) > 1 {
		return text
	}
	here := theTables().law.Of(g.in[0])
	if finds := g.treasure[g.in[0]]; len(finds) > 0 {
		text += fmt.Sprintf(" If so, %s may be treasure there:%s before anything is cleaned, sold or given away.",
			labelled(finds), askOf(here, "treasure-metal"))
	}
	if ask := askOf(here, "licence"); ask != "" {
		text += " Searching there may need a licence:" + ask + "."
	}
	if ask := askOf(here, "report"); ask != "" {
		text += " Old finds may have to be reported there:" + ask + "."
	}
	return text
}

// askOf names who is asked by the first row of a rule that holds in a place whatever the ground.
func askOf(here *law.Place, rule string) string {
	for _, r := range here.On(rule, noDays.first, noDays.last) {
		if r.Holds == law.Yes && len(r.Applies.Ground) == 0 && r.Topic != "age" && r.Ask != "" {
			return " ask the " + strings.TrimPrefix(r.Ask, "the ")
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
