package share

import (
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/render"
)

// SheetOptions of Sheet.
type SheetOptions struct {
	Tool     string            // name and version of the program
	Day      string            // the day of the sheet, ISO 8601; empty: left open to be written in
	Notices  notice.List       // on the copy; the sheet shows cautions
	Pictures map[string][]byte // JPEG or PNG, by their names in the copy; others are not shown
}

//go:embed sheet.html.tmpl
var sheetText string

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

// words shows a term: the finder's words, else the label of the code.
func words(list string, t *find.Term) string {
	if t == nil {
		return ""
	}
	text := t.Verbatim
	if text == "" {
		text = t.Label
	}
	if text == "" {
		text = label(list, t.Code)
	}
	if t.Certainty != "" && t.Certainty != "certain" && text != "" {
		text += " (" + label("certainty", t.Certainty) + ")"
	}
	return text
}

// shown is a quantity in one unit as people read it, empty if nothing is known.
func shown(q *find.Quantity, u quantity.Unit) string {
	switch {
	case q == nil:
		return ""
	case q.HasValue():
		return q.Value().Show(u)
	}
	return q.Verbatim
}

// howMany is the count where it is not one.
func howMany(f *find.Find) string {
	if c := f.Count; c.HasValue() && !(c.Min.Known() && c.Min == c.Max && c.Min.IsWhole() && c.Min.Int() == 1) {
		return shown(c, quantity.NoUnit)
	}
	return ""
}

// cautionsOf returns the messages of law and safety on one find, or on the report for no label.
func cautionsOf(list notice.List, label string) (out []caution) {
	for i := range list {
		n := &list[i]
		if n.Kind.Caution && n.Find == label {
			c := caution{Code: n.Kind.Code, Text: n.Message, Help: n.HelpText()}
			if !slices.Contains(out, c) {
				out = append(out, c)
			}
		}
	}
	return out
}

type caution struct{ Code, Text, Help string }

// handsOff reports whether a caution forbids to handle the thing any further.
func handsOff(f *find.Find, list []caution) bool {
	for _, c := range list {
		if strings.HasPrefix(c.Code, "ordnance") || strings.HasPrefix(c.Code, "live-") || strings.HasPrefix(c.Code,
			"human-remains") || strings.HasPrefix(c.Code, "aircraft") {
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
