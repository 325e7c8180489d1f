package spreadsheet

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// TemplateOptions steer Template. The zero value makes the twelve columns a hobbyist needs, depths
// in centimetres, headings in English.
type TemplateOptions struct {
	Full     bool   // every column that has a label
	Unit     string // of the depth column: cm or in; empty: cm
	Language string // of headings and lists: en, de, nl, da, fr, sv; empty: en
}

// templateVersion stands in the Report sheet of a template, so that a later program can tell.
const templateVersion = "1.0"

// templateRows is how many rows are prepared with lists and formats.
const templateRows = 1000

// templateColumn is one column of the template.
type templateColumn struct {
	field   string
	list    string // code list of its drop-down, if it has one
	example string // of the row that is never imported
	note    string // help shown at the cell, in English
}

// hobbyist are the twelve columns, in the order in which a bag is worked through.
var hobbyist = []templateColumn{
	{"number", "", "", "The number on the bag, as text. 007 and 7 are one number."},
	{"found.date", "", "2026-04-12", "The day it was found. 2026-04-12 can be misread by nobody."},
	{"name", "", "crotal bell", "What it is, in your own words."},
	{"depth", "", "7-9", "As you know it: 8, 7-9, more than 12, about 6. Leave it empty only if you say why in the notes."},
	{"depth.basis", "depth-basis", "", "How the depth was known."},
	{"position.verbatim", "", "SP 5270 9011", "Grid reference with its letters, or latitude and longitude."},
	{"position.method", "position-method", "", "How the position was taken."},
	{"materials.1", "material", "", "What it is made of. Green metal is copper alloy, possibly."},
	{"count", "", "1", "How many objects this row stands for."},
	{"finder", "", "finder-a", "Who found it: a handle, not a name, if you pass the log on."},
	{"permission", "", "Long Furlong", "By whose leave: the name of the field or the permission."},
	{"notes", "", "still has its pea", "Anything else. Do not write names or addresses of others."},
}

// more are further columns of the full template that have a drop-down.
var more = map[string]string{"kind": "kind", "lifted": "lifted", "depth.surface": "depth-surface", "layer": "layer", "objectClass": "object-class", "materials.2": "material",
	"technique.1": "technique", "weightState": "weight-state", "condition.completeness": "completeness", "condition.state": "condition-state", "condition.wear": "wear",
	"identification.certainty": "certainty", "identification.basis": "identification-basis", "cleaning": "cleaning", "disposition": "disposition", "sensitivity": "sensitivity"}

// exampleWord marks the row that is never imported.
var exampleWord = map[string]string{"en": "example", "de": "Beispiel", "nl": "voorbeeld", "da": "eksempel", "fr": "exemple", "sv": "exempel"}

// Template writes a workbook to fill in.
func Template(w io.Writer, o TemplateOptions) error {
	if o.Language == "" {
		o.Language = "en"
	}
	if o.Unit == "" {
		o.Unit = "cm"
	}
	if exampleWord[o.Language] == "" {
		return fmt.Errorf("language %q is not one of en, de, nl, da, fr, sv", o.Language)
	}
	if o.Unit != "cm" && o.Unit != "in" {
		return fmt.Errorf("unit %q is not cm or in", o.Unit)
	}
	t := &templateWriter{bookWriter: &bookWriter{f: excelize.NewFile()}, o: o}
	defer t.f.Close()
	if err := t.write(); err != nil {
		return fmt.Errorf("making the template: %w", err)
	}
	return writeBook(w, t.f)
}

type templateWriter struct {
	*bookWriter
	o     TemplateOptions
	lists int // columns used on the sheet of lists
}

// listSheet holds the lines of the drop-down lists; it is hidden.
const listSheet = "findslip lists"

func (t *templateWriter) columns() []templateColumn {
	out := slices.Clone(hobbyist)
	if !t.o.Full {
		return out
	}
	skip := map[string]bool{"id": true, "absent": true, "position.latitude": true, "position.longitude": true, "position.easting": true,
		"position.northing": true, "found.verbatim": true, "dating.date": true, "recorded.at": true}
	for _, c := range out {
		skip[c.field] = true
	}
	last := out[len(out)-1]
	out = out[:len(out)-1]
	var extra []string
	for _, field := range heading.Fields() {
		if !skip[field] {
			extra = append(extra, field)
		}
	}
	rank := map[string]int{}
	for i, f := range find.FieldsOf[find.Find]() {
		rank[f.Name] = i
	}
	slices.SortFunc(extra, func(a, b string) int { return compareNames(a, b, rank) })
	for _, field := range extra {
		out = append(out, templateColumn{field: field, list: more[field]})
	}
	return append(out, last)
}

func (t *templateWriter) write() error {
	if err := t.styles(); err != nil {
		return err
	}
	if err := t.f.SetSheetName("Sheet1", "Finds"); err != nil {
		return err
	}
	for _, sheet := range []string{"People", "Permissions", "Report", listSheet} {
		if _, err := t.f.NewSheet(sheet); err != nil {
			return err
		}
	}
	faint, err := t.f.NewStyle(&excelize.Style{Font: &excelize.Font{Italic: true, Color: "595959"}, NumFmt: 49})
	if err != nil {
		return err
	}
	for i, c := range t.columns() {
		if err := t.column(i+1, c, faint); err != nil {
			return err
		}
	}
	if err := t.f.SetPanes("Finds", &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := t.other("People", []string{"id", "name", "handle", "roles.1", "contact"}); err != nil {
		return err
	}
	if err := t.other("Permissions", []string{"id", "place.name", "place.parish", "jurisdiction", "basis", "grantedBy", "occupier", "validFrom", "validTo", "landUse", "ploughDepth", "maxDepth", "terms"}); err != nil {
		return err
	}
	for i, row := range [][2]string{{"member", "value"}, {"findslip", find.Version}, {"language", t.o.Language}, {"title", ""}, {"template", templateVersion}, {"depth unit", t.o.Unit}} {
		if err := t.f.SetSheetRow("Report", fmt.Sprintf("A%d", i+1), &[]any{row[0], row[1]}); err != nil {
			return err
		}
	}
	if err := t.f.SetColWidth("Report", "A", "B", 24); err != nil {
		return err
	}
	return t.f.SetSheetVisible(listSheet, false)
}

// column writes one column of the sheet of finds: heading, example, text format, help and list.
func (t *templateWriter) column(number int, c templateColumn, faint int) error {
	letters := find.ColumnLetters(number)
	head := heading.Label(c.field, t.o.Language)
	if head == "" {
		head = c.field
	}
	if c.field == "depth" {
		head += " [" + t.o.Unit + "]"
	} else if unit := sizeUnit(c.field); unit != "" && !strings.Contains(head, "[") {
		head += " [" + unit + "]"
	}
	if err := t.f.SetColStyle("Finds", letters, t.text); err != nil {
		return err
	}
	if err := t.f.SetColWidth("Finds", letters, letters, float64(min(max(len([]rune(head))+3, 12), 36))); err != nil {
		return err
	}
	if err := t.f.SetCellStr("Finds", letters+"1", head); err != nil {
		return err
	}
	if err := t.f.SetCellStyle("Finds", letters+"1", letters+"1", t.heading); err != nil {
		return err
	}
	example := c.example
	if c.field == "number" {
		example = exampleWord[t.o.Language]
	}
	if c.list != "" && example == "" {
		example = t.exampleOf(c.list)
	}
	if err := t.f.SetCellStr("Finds", letters+"2", example); err != nil {
		return err
	}
	if err := t.f.SetCellStyle("Finds", letters+"2", letters+"2", faint); err != nil {
		return err
	}
	return t.validation(letters, head, c)
}

// exampleOf returns a word of a list for the example row.
func (t *templateWriter) exampleOf(list string) string {
	code := map[string]string{"depth-basis": "tape-measured", "position-method": "phone", "material": "copper-alloy"}[list]
	if c, ok := vocabulary.Get(list).Concept(code); ok {
		return c.Label(t.o.Language)
	}
	return ""
}

func (t *templateWriter) validation(letters, head string, c templateColumn) error {
	v := excelize.NewDataValidation(true)
	v.Sqref = fmt.Sprintf("%s3:%s%d", letters, letters, templateRows)
	if c.note != "" && t.o.Language == "en" {
		v.SetInput(head, c.note)
	}
	if c.list == "" {
		if c.note == "" || t.o.Language != "en" {
			return nil
		}
		return t.f.AddDataValidation("Finds", v)
	}
	t.lists++
	column := find.ColumnLetters(t.lists)
	scheme := vocabulary.Get(c.list)
	for i, concept := range scheme.Concepts {
		if err := t.f.SetCellStr(listSheet, fmt.Sprintf("%s%d", column, i+1), concept.Label(t.o.Language)); err != nil {
			return err
		}
	}
	v.SetSqrefDropList(fmt.Sprintf("'%s'!$%s$1:$%s$%d", listSheet, column, column, len(scheme.Concepts)))
	// Other words are allowed: the list helps and does not stop.
	v.ShowErrorMessage = false
	return t.f.AddDataValidation("Finds", v)
}

// sizeUnit returns the unit of sizes and weights in a template.
func sizeUnit(field string) string {
	path, err := find.PathTo[find.Find](field)
	if err != nil || path.Field.Kind != find.QuantityText {
		return ""
	}
	return path.Field.Unit
}

// other writes the headings of a sheet beside the finds.
func (t *templateWriter) other(sheet string, fields []string) error {
	for i, field := range fields {
		cell := find.ColumnLetters(i+1) + "1"
		if err := t.f.SetCellStr(sheet, cell, field); err != nil {
			return err
		}
		if err := t.f.SetCellStyle(sheet, cell, cell, t.heading); err != nil {
			return err
		}
	}
	last := find.ColumnLetters(len(fields))
	if err := t.f.SetColWidth(sheet, "A", last, 18); err != nil {
		return err
	}
	return t.f.SetPanes(sheet, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
}
