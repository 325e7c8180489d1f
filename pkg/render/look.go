package render

import (
	_ "embed"
	"html/template"
	"strings"
)

//go:embed look.css
var lookText string

// Look is the style that all pages share, for a style element in their head.
func Look() template.CSS { return template.CSS(strings.TrimSpace(lookText)) } // our own file, nothing of the data

// SVG draws the plan with its legend for a page of another package, or nothing if there is none.
func (p *Plan) SVG(language string) template.HTML {
	s := speechOf(language)
	return p.draw(drawing{north: s.text("north"), unknown: s.text("notKnown")})
}

// Linked draws the plan for a page that has the rows of its finds: each sign leads to one. The legend is not drawn.
func (p *Plan) Linked(language string) template.HTML {
	s := speechOf(language)
	return p.draw(drawing{links: true, north: s.text("north"), unknown: s.text("notKnown")})
}
