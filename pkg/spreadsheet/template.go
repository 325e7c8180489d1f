package spreadsheet

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// TemplateOptions steer Template. The zero value makes the twelve columns a hobbyist needs, depths
// in centimetres, headings in English.
type TemplateOptions struct {
	Full     bool               // every column that has a label
	Unit     string             // of the depth column: cm or in; empty: cm
	Language string             // of headings and lists, one that has labels; empty: en
	Profile  *profile.Effective // whose columns, lists, help and title sheet it has; nil: ours
	Texts    string             // language of its texts; empty: Language
}

// templateVersion stands in the Report sheet of a template, so that a later program can tell.
const templateVersion = "1.0"

// templateRows is how many rows are prepared with lists and formats.
const templateRows = 1000

// hobbyist are the twelve columns, in the order in which a bag is worked through.
var hobbyist = []string{"number", "found.date", "name", "depth", "depth.basis", "position.verbatim", "position.method",
	"materials.1", "count", "finder", "permission", "notes"}

// notInTemplate are the fields with a label that even the full template leaves out: what a column
// beside them is read for as well, and what a program fills in.
var notInTemplate = []string{"id", "absent", "recorded.at", "found.verbatim", "dating.date", "position.latitude",
	"position.longitude", "position.easting", "position.northing", heading.Consent}

// Columns of the sheets beside the finds.
var (
	peopleColumns     = []string{"id", "name", "handle", "roles.1", "contact", "consents.1.audience"}
	permissionColumns = []string{"id", "place.name", "place.parish", "jurisdiction", "basis", "grantedBy", "occupier",
		"validFrom", "validTo", "landUse", "ploughDepth", "maxDepth", "terms"}
)

// Template writes a workbook to fill in: a sheet of finds with headings, lists to choose from, help at
// each cell and an example that reading passes over, and sheets for people, permissions and the
// report. All cells are text, so that the spreadsheet turns neither 7-9 into a day nor 007 into 7.
// The same options give the same bytes. A language or unit that is not one of those of
// TemplateOptions is an error.
func Template(w io.Writer, o TemplateOptions) error {
	if o.Language == "" {
		o.Language = "en"
	}
	if o.Unit == "" {
		o.Unit = "cm"
	}
	if all := templateLanguages(); !slices.Contains(all, o.Language) {
		return fmt.Errorf("language %q is not one of %s", o.Language, strings.Join(all, ", "))
	}
	if exampleDepth[o.Unit] == "" {
		return fmt.Errorf("unit %q is not cm or in", o.Unit)
	}
	t := &templateWriter{bookWriter: &bookWriter{f: excelize.NewFile()}, o: o, lists: map[string]string{}}
	if o.Profile != nil {
		t.asked = askedBy(o.Profile, cmp.Or(o.Texts, o.Language))
	}
	defer t.f.Close()
	if err := t.write(); err != nil {
		return fmt.Errorf("making the template: %w", err)
	}
	return t.bookWriter.write(w)
}

type templateWriter struct {
	*bookWriter
	o     TemplateOptions
	faint int               // style of the example
	lists map[string]string // range of each list on the hidden sheet
	asked *asked            // by a profile; nil: none
}

// listSheet holds the lines of the drop-down lists; it is hidden.
const listSheet = "findslip lists"

// columns returns the flat names of the columns of the sheet of finds. Notes stay last, where there
// is room for them.
func (t *templateWriter) columns() []string {
	if t.asked != nil && !t.o.Full {
		return t.asked.columns
	}
	if !t.o.Full {
		return hobbyist
	}
	last := len(hobbyist) - 1
	var more []string
	for _, name := range heading.Fields() {
		if !slices.Contains(hobbyist, name) && !slices.Contains(notInTemplate, name) {
			more = append(more, name)
		}
	}
	rank := map[string]int{}
	for i, f := range find.FieldsOf[find.Find]() {
		rank[f.Name] = i
	}
	slices.SortFunc(more, func(a, b string) int { return compareNames(a, b, rank) })
	return slices.Concat(hobbyist[:last], more, hobbyist[last:])
}

func (t *templateWriter) write() error {
	if err := t.styles(); err != nil {
		return err
	}
	var err error
	if t.heading, err = t.f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true, Family: fontOfCells, Size: 11},
		NumFmt: 49, Alignment: &excelize.Alignment{Vertical: "center"},
		Fill:   excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"E4E9DF"}},
		Border: []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}}}); err != nil {
		return err
	}
	if t.faint, err = t.f.NewStyle(&excelize.Style{Font: &excelize.Font{Italic: true, Color: "595959",
		Family: fontOfCells, Size: 11}, NumFmt: 49}); err != nil {
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
	if err := t.aboutLines(); err != nil {
		return err
	}
	for i, name := range t.columns() {
		if err := t.find(find.ColumnLetters(i+1), name); err != nil {
			return err
		}
	}
	if err := t.dress("Finds", len(t.columns())); err != nil {
		return err
	}
	if err := beside[find.Person](t, "People", peopleColumns); err != nil {
		return err
	}
	land := permissionColumns
	if t.asked != nil {
		for _, name := range t.asked.land {
			if !slices.Contains(land, name) && heading.LabelIn("permissions", name, "en") != "" {
				land = append(slices.Clone(land), name)
			}
		}
	}
	if err := beside[find.Permission](t, "Permissions", land); err != nil {
		return err
	}
	if err := t.report(); err != nil {
		return err
	}
	return t.f.SetSheetVisible(listSheet, false)
}

// find writes one column of the sheet of finds: heading, example, text format, help and list.
func (t *templateWriter) find(letters, name string) error {
	path, err := find.PathTo[find.Find](name)
	if err != nil {
		return err
	}
	unit := t.unit(path.Field)
	head := t.head(name, unit)
	example := t.example(path.Field, name)
	if err := t.column("Finds", letters, head, example, path.Field); err != nil {
		return err
	}
	if err := t.f.SetCellStr("Finds", letters+"2", example); err != nil {
		return err
	}
	if err := t.f.SetCellStyle("Finds", letters+"2", letters+"2", t.faint); err != nil {
		return err
	}
	help, allowed, first := helpFor(path.Field, name, unit, t.o.Language), []string(nil), []string(nil)
	if t.asked != nil {
		help, allowed, first = cmp.Or(t.asked.help[name], help), t.asked.allowed[name], t.asked.first[name]
	}
	return t.validation("Finds", letters, head, help, path.Field.List, allowed, first)
}

// head returns the heading of a column: the label in the language, else the flat name, if the label
// with its unit would not be read as the field.
func (t *templateWriter) head(name, unit string) string {
	if unit != "" {
		unit = " [" + unit + "]"
	}
	text := heading.Label(name, t.o.Language) + unit
	if t.asked != nil && t.asked.called[name] != "" { // read without the profile too
		if theirs := text + " (" + t.asked.called[name] + ")"; heading.Understand(theirs).Field == name {
			return theirs
		}
	}
	if slices.Contains([]string{name, strings.Replace(name, "dating.verbatim", "dating.date", 1)},
		heading.Understand(text).Field) { // days and words of an age share a heading
		return text
	}
	return name + unit
}

// unit returns the unit that the heading of a quantity states, which holds for the bare numbers
// below it.
func (t *templateWriter) unit(f find.Field) string {
	switch {
	case f.Kind != find.QuantityText:
		return ""
	case f.Unit == "cm":
		return t.o.Unit
	}
	return f.Unit
}

// example returns the word of a field in the row that is never imported.
func (t *templateWriter) example(f find.Field, name string) string {
	if name == "depth" {
		return exampleDepth[t.o.Unit]
	}
	if of := t.o.Profile; name == "position.verbatim" && (t.o.Language != "en" || of != nil && of.Jurisdiction != "" &&
		!strings.HasPrefix(of.Jurisdiction, "GB")) {
		return "52.5063, -1.2241" // there are other grids
	}
	if word := exampleOf(name, t.o.Language); word != "" {
		return word
	}
	if f.List != "" && slices.Contains(hobbyist, name) {
		scheme := vocabulary.Get(f.List)
		if c, ok := scheme.Concept(exampleCode[f.List]); ok {
			return t.line(scheme, c)
		}
	}
	return ""
}

// column writes the heading of a column, and makes its cells text and wide enough.
func (t *templateWriter) column(sheet, letters, head, example string, f find.Field) error {
	if err := t.f.SetColStyle(sheet, letters, t.text); err != nil {
		return err
	}
	width := max(len([]rune(head)), len([]rune(example)), 9) + 3
	if f.Name == "notes" || f.Name == "terms" {
		width = 40
	} else if f.Name == "name" {
		width = max(width, 24)
	}
	if err := t.f.SetColWidth(sheet, letters, letters, float64(min(width, 40))); err != nil {
		return err
	}
	if err := t.f.SetCellStr(sheet, letters+"1", head); err != nil {
		return err
	}
	return t.f.SetCellStyle(sheet, letters+"1", letters+"1", t.heading)
}

// Limits of what a spreadsheet takes as help at a cell, in characters (from memory).
const (
	mostTitle = 32
	mostHelp  = 255
)

// validation shows help at the cells of a column and offers a list. Other words are allowed: the
// list helps and does not stop.
func (t *templateWriter) validation(sheet, letters, title, text, list string, allowed, first []string) error {
	v := excelize.NewDataValidation(true)
	v.Sqref = fmt.Sprintf("%s2:%s%d", letters, letters, templateRows)
	v.ShowErrorMessage = false
	if text != "" {
		v.SetInput(cut(title, mostTitle), cut(text, mostHelp))
	}
	if list != "" {
		lines, err := t.list(list, allowed, first)
		if err != nil {
			return err
		}
		v.SetSqrefDropList(lines)
	} else if text == "" {
		return nil
	}
	return t.f.AddDataValidation(sheet, v)
}

func cut(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most])
	}
	return s
}

// list writes a list, or the codes of it that are allowed, into a column of the hidden sheet, once, and returns its
// range. Some codes come first.
func (t *templateWriter) list(name string, allowed, first []string) (string, error) {
	key := strings.Join(slices.Concat([]string{name}, allowed, []string{"/"}, first), " ")
	if lines := t.lists[key]; lines != "" {
		return lines, nil
	}
	scheme := vocabulary.Get(name)
	if scheme == nil {
		return "", fmt.Errorf("there is no list %q", name)
	}
	column := find.ColumnLetters(len(t.lists) + 1)
	n := 0
	theirs := func(c *vocabulary.Concept) bool { return slices.Contains(first, c.Code) }
	concepts := slices.DeleteFunc(slices.Clone(scheme.Concepts), func(c *vocabulary.Concept) bool { return !theirs(c) })
	concepts = append(concepts, slices.DeleteFunc(slices.Clone(scheme.Concepts), theirs)...)
	for _, concept := range concepts {
		if allowed != nil && !slices.Contains(allowed, concept.Code) {
			continue
		}
		n++
		if err := t.f.SetCellStr(listSheet, fmt.Sprintf("%s%d", column, n), t.line(scheme, concept)); err != nil {
			return "", err
		}
	}
	t.lists[key] = fmt.Sprintf("'%s'!$%s$1:$%s$%d", listSheet, column, column, max(n, 1))
	return t.lists[key], nil
}

// line returns the words of a concept in a list: its label in the language, else other words for it,
// else its code; the first of them that are read as this concept and no other.
func (t *templateWriter) line(scheme *vocabulary.Scheme, c *vocabulary.Concept) string {
	if t.asked != nil && t.asked.preferred(scheme.List, c.Code) != "" {
		return t.asked.preferred(scheme.List, c.Code)
	}
	for _, words := range append([]string{c.Label(t.o.Language)}, c.AltLabel[t.o.Language]...) {
		if m, ok := scheme.Match(words); ok && m.Code == c.Code {
			return words
		}
	}
	return c.Code
}

// dress freezes the headings of a sheet and lets it print across a page: headings on each, and all
// columns beside each other as long as that can be read.
func (t *templateWriter) dress(sheet string, columns int) error {
	if err := t.f.SetPanes(sheet, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2",
		ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := t.f.SetRowHeight(sheet, 1, 22); err != nil {
		return err
	}
	return printable(t.f, sheet, columns)
}

// beside writes the headings of a sheet beside the finds: the labels in the language, where they are read as the
// member, else flat names.
func beside[T find.Record](t *templateWriter, sheet string, columns []string) error {
	from := map[string]string{"People": "/finder/", "Permissions": "/permission/"}[sheet]
	columns = slices.DeleteFunc(slices.Clone(columns), func(name string) bool {
		return t.o.Profile != nil && !t.o.Full && t.o.Profile.Never(from+strings.ReplaceAll(name, ".", "/"))
	})
	for i, name := range columns {
		path, err := find.PathTo[T](name)
		if err != nil {
			return err
		}
		letters, head, part := find.ColumnLetters(i+1), name, strings.ToLower(sheet)
		if label := heading.LabelIn(part, name, t.o.Language); heading.UnderstandIn(part, label).Field == name {
			head = label
		}
		if name == "consents.1.audience" {
			path.Field.List = ""
		}
		if err := t.column(sheet, letters, head, "", path.Field); err != nil {
			return err
		}
		text := ""
		if path.Field.List != "" {
			text = helpFor(path.Field, name, "", t.o.Language)
		}
		if t.asked != nil {
			text = cmp.Or(t.asked.help[from+strings.ReplaceAll(name, ".", "/")], text)
		}
		if err := t.validation(sheet, letters, head, text, path.Field.List, nil, nil); err != nil {
			return err
		}
	}
	return t.dress(sheet, len(columns))
}

// report writes what a reader and a later program want to know of the workbook.
func (t *templateWriter) report() error {
	rows := [][2]string{{"member", "value"}, {"findslip", find.Version}, {"language", t.o.Language}, {"title", ""},
		{"template", templateVersion}, {"template unit", t.o.Unit}}
	if t.o.Profile != nil {
		rows = append(rows, [2]string{"profile", t.o.Profile.Label()})
	}
	for i, row := range rows {
		for j, text := range row {
			cell, style := fmt.Sprintf("%s%d", find.ColumnLetters(j+1), i+1), t.text
			if i == 0 {
				style = t.heading
			}
			if err := t.f.SetCellStr("Report", cell, text); err != nil {
				return err
			}
			if err := t.f.SetCellStyle("Report", cell, cell, style); err != nil {
				return err
			}
		}
	}
	return t.f.SetColWidth("Report", "A", "B", 24)
}

// labels are the words of a template in one language (schema/labels).
type labels struct {
	Template struct {
		Mark    string            `json:"mark"`    // marks the row that is never imported
		Example map[string]string `json:"example"` // words of that row, by field
		Help    map[string]string `json:"help"`    // shown at a cell, by field; UNIT stands for the unit of the column
		HelpOf  map[string]string `json:"help-of"` // for the fields that have none of their own, by what they hold
	} `json:"template"`
}

// templateLabels are those of the languages that a template can be in.
var templateLabels = sync.OnceValue(func() map[string]*labels {
	all := map[string]*labels{}
	for _, tag := range lexicon.Tags() {
		raw, err := schema.Labels(tag)
		if err != nil {
			continue // a language that is read and not shown
		}
		l := new(labels)
		if err := json.Unmarshal(raw, l); err != nil {
			panic("the labels of this program are damaged: " + tag + ": " + err.Error())
		}
		all[tag] = l
	}
	return all
})

// templateLanguages returns the languages of a template, in the order of the lexica.
func templateLanguages() []string {
	return slices.DeleteFunc(lexicon.Tags(), func(tag string) bool { return templateLabels()[tag] == nil })
}

// examples are the words of the example that are the same in every language, by field.
var examples = map[string]string{"found.date": "2026-04-12", "position.verbatim": "SP 5270 9011", "count": "1",
	"finder": "finder-a", "permission": "Long Furlong", "dimensions.diameter": "23", "weight": "18",
	"place.name": "Thornmere", "position.uncertainty": "8"}

// exampleDepth is the depth of the example, by unit.
var exampleDepth = map[string]string{"in": "7-9", "cm": "18-23"}

// exampleCode is the code whose label stands in the example, by list.
var exampleCode = map[string]string{"depth-basis": "tape-measured", "position-method": "phone",
	"material": "copper-alloy"}

// exampleOf returns the word of a field in the example, where it has one of its own.
func exampleOf(name, language string) string {
	t := &templateLabels()[language].Template
	if name == "number" {
		return t.Mark
	}
	return cmp.Or(t.Example[name], examples[name])
}

// helpFor returns what is shown at the cells of a field.
func helpFor(f find.Field, name, unit, language string) string {
	t := &templateLabels()[language].Template
	text, ok := t.Help[name]
	scheme := vocabulary.Get(f.List)
	switch {
	case ok:
	case scheme != nil && scheme.Open:
		text = t.HelpOf["open-list"]
	case scheme != nil:
		text = t.HelpOf["closed-list"]
	case f.Kind == find.QuantityText:
		text = t.HelpOf["quantity"]
	case strings.HasPrefix(name, "media."):
		text = t.HelpOf["picture"]
	case name == "storagePlace" || name == "value":
		text = t.HelpOf["private"]
	default:
		text = t.HelpOf["words"]
	}
	return strings.ReplaceAll(text, "UNIT", unit)
}
