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
