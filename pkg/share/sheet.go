package share

import (
	"cmp"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// SheetOptions of Sheet.
type SheetOptions struct {
	Tool     string            // name and version of the program
	Day      string            // the day of the sheet, ISO 8601; empty: left open to be written in
	Notices  notice.List       // on the copy; the sheet shows cautions
	Pictures map[string][]byte // JPEG or PNG, by their names in the copy; others are not shown
	Language string            // of the page; empty: that of the report, else English
	LeftOut  []LeftOut         // finds of a landowner's own land that are not on the page, which it says
}

//go:embed sheet.html.tmpl
var sheetText string

// answerScript makes a table of what an expert writes into the page, and hands it to the browser to be saved. It
// sends nothing.
//
//go:embed answer.js
var answerScript string

// pagePolicy bars a page from the network.
const pagePolicy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"

// answerPolicy lets the one script of the page for an expert run, known by its sum, and no other.
func answerPolicy() string {
	sum := sha256.Sum256([]byte(answerScript))
	return pagePolicy + "; script-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; form-action 'none'"
}

// The sheets are parsed when the first is written, as the page of package render is.
var (
	sheetOnce sync.Once
	sheetRead *template.Template
)

func sheet() *template.Template {
	sheetOnce.Do(func() {
		sheetRead = template.Must(template.New("sheet").Funcs(template.FuncMap{"clean": render.Clean,
			"look": render.Look}).Parse(sheetText))
	})
	return sheetRead
}

// Sheet writes a page to print, in one file without network: for a landowner what was found and
// taken on each field and day, with room to sign, for an expert each find with its question. It
// shows what the copy holds and nothing else; another audience has no sheet.
func Sheet(w io.Writer, copied *find.Report, o SheetOptions) error {
	switch Audience(copied.Audience) {
	case Landowner:
		return sheet().ExecuteTemplate(w, "landowner", landownerPage(copied, o))
	case Expert:
		return sheet().ExecuteTemplate(w, "expert", expertPage(copied, o))
	}
	return fmt.Errorf("there is a page for a landowner and for an expert, not for %s", copied.Audience)
}

// HasSheet reports whether Sheet makes a page for an audience.
func HasSheet(a Audience) bool { return a == Landowner || a == Expert }

// words shows a term as it was written, else by its label, with how sure it is.
func (w *pageWords) words(list string, t *find.Term) string {
	text := w.term(list, t)
	if text != "" && t.Certainty != "" && t.Certainty != "certain" {
		text += " (" + w.label("certainty", t.Certainty) + ")"
	}
	return text
}

// shown is a quantity in one unit as people read it, empty if nothing is known.
func (w *pageWords) shown(q *find.Quantity, u quantity.Unit) string {
	switch {
	case q == nil:
		return ""
	case q.HasValue():
		v := q.Value().In(u)
		if v.IsZero() {
			v = q.Value()
		}
		// An inch is known to half an inch, but "30 mm" for 1 in would be more than 29 mm for 1 1/8 in.
		v.Resolution.Value = min(v.Resolution.Value, finest)
		if u == quantity.MM && q.Said == "in" && v.Resolution.Value < quantity.Whole(1) && v.Min.Value >= quantity.Whole(10) {
			v.Resolution.Value = quantity.Whole(1) // 0.625 in is 16 mm, as 5/8 in is
		}
		text := v.Show(u)
		if w.language != "en" {
			text = strings.NewReplacer(".", ",", "about", w.T("about"), "or more", w.T("orMore"), "or less", w.T("orLess")).
				Replace(text)
		}
		return text
	}
	return q.Verbatim
}

// AsWritten is a measure in the words of the finder, with the unit that its heading said where the cell has none.
func AsWritten(q *find.Quantity) string {
	text := render.Clean(q.Verbatim)
	if q.HasValue() && text != "" && q.Said != "" && !strings.ContainsFunc(text, unicode.IsLetter) &&
		!strings.ContainsAny(text, `"'″′`) {
		text += " " + q.Said // two logs may each have a unit of their own in the heading
	}
	return text
}

// finest is the resolution up to which a measure is shown in whole units.
var finest = quantity.Whole(19)

// howMany is the count where it is not one.
func (w *pageWords) howMany(f *find.Find) string {
	if c := f.Count; c.HasValue() && !(c.Min.Known() && c.Min == c.Max && c.Min.IsWhole() && c.Min.Int() == 1) {
		if strings.ContainsFunc(c.Verbatim, unicode.IsLetter) {
			return render.Clean(c.Verbatim) // several, a handful
		}
		return w.shown(c, quantity.NoUnit)
	}
	return ""
}

// caution is what law or safety may ask, and of which finds.
type caution struct{ Text, Where string }

// cautionsIn puts the cautions among some notices in words of a language, each once.
func cautionsIn(list notice.List, language string) (out []caution) {
	d := render.Document{Language: language}
	for i := range list {
		if list[i].Kind.Caution {
			d.Notices = append(d.Notices, list[i])
		}
	}
	if len(d.Notices) == 0 {
		return nil
	}
	v := d.Verdict(language)
	for _, job := range append(v.Safety, v.Law...) {
		var finds []string
		for i := range job.Examples {
			if n := &job.Examples[i]; n.Find != "" && !slices.Contains(finds, n.Find) {
				finds = append(finds, n.Find)
			}
		}
		out = append(out, caution{sentences(job.Say, job.Do), strings.Join(finds, ", ")})
	}
	return out
}

// sentences puts two texts behind each other, each a sentence of its own.
func sentences(texts ...string) string {
	var out []string
	for _, text := range texts {
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		if !strings.ContainsAny(text[len(text)-1:], ".!?") {
			text += "."
		}
		first, size := utf8.DecodeRuneInString(text)
		out = append(out, string(unicode.ToUpper(first))+text[size:])
	}
	return strings.Join(out, " ")
}

// handsOff reports whether a caution forbids to handle the thing any further.
func handsOff(f *find.Find, list notice.List) bool {
	for i := range list {
		code := list[i].Kind.Code
		if list[i].Find == findLabel(f) && (strings.HasPrefix(code, "ordnance") || strings.HasPrefix(code, "live-") ||
			strings.HasPrefix(code, "human-remains") || strings.HasPrefix(code, "aircraft")) {
			return true
		}
	}
	for i := range f.Hazards {
		if f.Hazards[i].Is("explosive", "ammunition", "human-remains", "radioactive") {
			return true
		}
	}
	return f.HumanRemains != nil && *f.HumanRemains
}

// inline makes the address of a picture that stands in the page itself.
func inline(data []byte) template.URL {
	kind := map[string]string{".jpg": "jpeg", ".png": "png"}[picture.Extension(data)]
	if kind == "" {
		return ""
	}
	return template.URL("data:image/" + kind + ";base64," + base64.StdEncoding.EncodeToString(data)) // base64 only
}

// pageWords are the sentences of a page in one language.
type pageWords struct {
	language string
	foreign  bool // the words of the log may be of another language
	texts    map[string]map[string]string
	months   []string
	day      string // such as {d} {month} {y}
}

var pageTexts = sync.OnceValue(func() map[string]map[string]string {
	var file struct {
		Texts map[string]map[string]string `json:"texts"`
	}
	raw, _ := schema.Pages() // a test reads them
	_ = json.Unmarshal(raw, &file)
	return file.Texts
})

// pageWordsOf returns the words in a language, in English where it is not one of the six.
func pageWordsOf(language string) *pageWords {
	language, _, _ = strings.Cut(strings.ToLower(language), "-")
	if pageTexts()["title"][language] == "" {
		language = "en"
	}
	w := &pageWords{language: language, texts: pageTexts()}
	var speech struct {
		Months []string `json:"months"`
		Frame  struct {
			Day []string `json:"day"`
		} `json:"frame"`
	}
	raw, err := schema.Speech(language)
	if err == nil && json.Unmarshal(raw, &speech) == nil && len(speech.Months) == 12 && len(speech.Frame.Day) > 0 {
		w.months, w.day = speech.Months, speech.Frame.Day[0]
	}
	return w
}

// T is a sentence.
func (w *pageWords) T(key string) string { return w.texts[key][w.language] }

// Many is a sentence with a number.
func (w *pageWords) Many(key string, n int) string {
	one, more, _ := strings.Cut(w.T(key), "|")
	if n == 1 {
		return one
	}
	return strings.ReplaceAll(more, "{n}", strconv.Itoa(n))
}

// label is the label of a code.
func (w *pageWords) label(list, code string) string {
	if c, ok := vocabulary.Get(list).Concept(code); ok {
		return c.Label(w.language)
	}
	return code
}

// term shows a term: the finder's words, else the label of its code.
func (w *pageWords) term(list string, t *find.Term) string {
	switch {
	case t == nil:
		return ""
	case t.Verbatim != "":
		if label := w.label(list, t.Code); w.foreign && t.Code != "" && t.Code != "other" &&
			find.FoldName(label) != find.FoldName(t.Verbatim) {
			return label + " (" + t.Verbatim + ")"
		}
		return t.Verbatim
	case t.Label != "":
		return t.Label
	case t.Code == "unknown":
		return ""
	}
	return w.label(list, t.Code)
}

// families are the families of materials in the order of their signs on plans.
var families = [...]string{"copper-based", "lead-tin", "precious", "ferrous", "light-metal", "metal", "other-metal",
	"glass-ceramic", "stone-mineral", "organic", "synthetic", "composite", "process-waste", "other", "unknown"}

// Families returns the families of materials in a language, each with its place in the order of signs, which is the
// same on all plans.
func Families(language string) (out []string) {
	for _, code := range families {
		out = append(out, pageWordsOf(language).T("family-"+code))
	}
	return out
}

// Family names the family of what a find is first of all made of; empty if that is not known.
func Family(f *find.Find, language string) string {
	if len(f.Materials) == 0 {
		return ""
	}
	c, ok := vocabulary.Get("material").Concept(f.Materials[0].Code)
	if !ok {
		return ""
	}
	own, _, _ := strings.Cut(strings.ToLower(language), "-")
	name := pageTexts()["family-"+c.Group]
	return cmp.Or(name[own], name["en"], c.Label(language))
}

// date writes a day or month as people do: 12 April 2026. Anything else stays as it is.
func (w *pageWords) date(day string) string {
	parts := strings.Split(day, "-")
	if len(parts) < 2 || len(w.months) != 12 {
		return day
	}
	month, err := strconv.Atoi(parts[1])
	if err != nil || month < 1 || month > 12 || len(parts[0]) != 4 {
		return day
	}
	if len(parts) == 2 {
		return w.months[month-1] + " " + parts[0]
	}
	d, err := strconv.Atoi(parts[2])
	if err != nil || len(parts) > 3 {
		return day
	}
	return strings.NewReplacer("{d}", strconv.Itoa(d), "{month}", w.months[month-1], "{y}", parts[0]).Replace(w.day)
}
