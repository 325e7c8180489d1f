package share

import (
	"bytes"
	"html"
	"image"
	"image/png"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/vocabulary"
)

const hostile = `<script>alert(1)</script>"><img src=x onerror=alert(2)>`

func sheetReport() *find.Report {
	yes := true
	return &find.Report{Findslip: "1.0", ID: "urn:uuid:5a7a1d8e-6f0c-4a0e-9c3f-0f6a3c1d2b4e", Title: hostile,
		Permissions: []find.Permission{{ID: "permission-1", Place: &find.Place{Name: "Long Furlong"},
			Terms: "gates shut" + hostile,
			Area: &find.Area{Type: "Polygon",
				Coordinates: []byte(`[[[-1.2275,52.505],[-1.2228,52.505],[-1.2228,52.508],[-1.2275,52.505]]]`)}},
			{ID: "permission-2", Place: &find.Place{Name: "Chapel Piece"}}},
		Outings: []find.Outing{{ID: "outing-1", Permission: "permission-1", Date: "2026-04-12", Rubbish: "a bucket of foil"},
			{ID: "outing-2", Permission: "permission-1", Date: "2026-04-19", NothingFound: &yes}},
		Finds: []*find.Find{{ID: "urn:uuid:5a7a1d8e-6f0c-4a0e-9c3f-0f6a3c1d2b41", Number: "1", Name: "crotal bell" + hostile,
			Permission: "permission-1", Lifted: "all",
			Found: &find.Found{Date: "2026-04-12"}, Disposition: &find.Term{Code: "lent-for-identification"},
			Question: "Whose mark? " + hostile, Position: &find.Position{Latitude: find.Float(52.5063914),
				Longitude: find.Float(-1.2249252), Uncertainty: find.Int(5)},
			Notified: []find.Notified{{To: "the recording body", CaseNumber: "case-1", Status: &find.Term{Code: "open"}},
				{To: "the closed office", Status: &find.Term{Code: "closed"}}},
			Materials: []find.Material{{Term: find.Term{Code: "bronze", Basis: "by-eye"}}},
			Marks:     []find.Mark{{Text: "[...]RW(?)"}},
			Weight:    &find.Quantity{Min: find.Int(18), Max: find.Int(18), Unit: "g", Said: "g"},
			Media: []find.Media{{File: "a.png", View: &find.Term{Code: "front"}, Scale: &yes},
				{File: "hole.png", View: &find.Term{Code: "in-hole"}}}},
			{ID: "urn:uuid:5a7a1d8e-6f0c-4a0e-9c3f-0f6a3c1d2b42", Number: "2", Name: "shell", Permission: "permission-1",
				Lifted: "none", Question: "What now?", Hazards: []find.Term{{Code: "explosive"}}},
			{ID: "urn:uuid:5a7a1d8e-6f0c-4a0e-9c3f-0f6a3c1d2b43", Number: "3", Name: "jetton of the other field",
				Permission: "permission-2"}}}
}

func page(t *testing.T, a Audience, o SheetOptions) string {
	t.Helper()
	c, err := Copy(t.Context(), sheetReport(), Options{Audience: a, Permissions: []string{"permission-1"}})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := Sheet(&b, c.Report, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// address is whatever a page could fetch; the names of the SVG and the data of pictures are none.
var address = regexp.MustCompile(`(?i)(src|href|action)\s*=\s*"?([^">]*)|url\(|@import|https?://[^"]*`)

func TestPagesAreWholeAndSafe(t *testing.T) {
	var img bytes.Buffer
	if err := png.Encode(&img, image.NewGray(image.Rect(0, 0, 4, 4))); err != nil {
		t.Fatal(err)
	}
	for _, a := range []Audience{Landowner, Expert} {
		text := page(t, a, SheetOptions{Tool: "findslip " + hostile,
			Pictures: map[string][]byte{"picture-001.png": img.Bytes()}})
		policy := pagePolicy
		if a == Expert { // one script, known by its sum
			own := "<script>" + answerScript + "</script>"
			if strings.Count(text, own) != 1 {
				t.Error("the page for an expert has not the script that saves the answer")
			}
			text, policy = strings.Replace(text, own, "", 1), answerPolicy()
		}
		if strings.Contains(text, "<script") || strings.Contains(text, "<img src=x") || !strings.Contains(text,
			"&lt;script&gt;") {
			t.Errorf("the page for %s takes words for markup", a)
		}
		if !strings.Contains(html.UnescapeString(text), `http-equiv="Content-Security-Policy" content="`+policy+`"`) {
			t.Errorf("the page for %s does not bar the network", a)
		}
		for _, m := range address.FindAllString(text, -1) {
			if !strings.HasPrefix(m, `src="data:image/png;base64,`) && m != "http://www.w3.org/2000/svg" && !strings.HasPrefix(m,
				"src=x") {
				t.Errorf("the page for %s fetches %s", a, m)
			}
		}
	}
	if err := Sheet(&bytes.Buffer{}, &find.Report{Audience: "public"}, SheetOptions{}); err == nil {
		t.Error("there is a page for the public")
	}
}

func TestLandownerPage(t *testing.T) {
	caution := &notice.Kind{Code: "treasure-may-apply", Caution: true, Severity: notice.Info, Title: "t",
		Help: "Ask the office."}
	n := notice.New(caution, "/materials", "it may have to be told")
	n.Find = "1"
	text := page(t, Landowner, SheetOptions{Notices: notice.List{n}})
	for _, want := range cases.Table[[]string](t, "LandownerPage") {
		if !strings.Contains(text, want) {
			t.Errorf("it does not say %q", want)
		}
	}
	for _, not := range []string{"Chapel Piece", "other field", "the closed office", "not said", "Not on this page"} {
		if strings.Contains(text, not) {
			t.Errorf("it says %q", not)
		}
	}
}

// The style of a page is found whole in it, so that its words are taken for nobody's.
func TestStyleOfPages(t *testing.T) {
	for _, a := range []Audience{Landowner, Expert} {
		text := page(t, a, SheetOptions{})
		at := styleOf(text)
		if len(at) != 1 || strings.Count(text, "background") != strings.Count(text[at[0][0]:at[0][1]], "background") {
			t.Errorf("the style of the page for %s is not found: %v", a, at)
		}
	}
}

func TestExpertPage(t *testing.T) {
	text := page(t, Expert, SheetOptions{})
	for _, want := range []string{"[...]RW(?)", "18 g", "bronze", "known by: by eye", "Whose mark?", "picture not at hand",
		"Do not handle it further", `name="opinions.1.says.name"`} {
		if !strings.Contains(text, want) {
			t.Errorf("it does not say %q", want)
		}
	}
	for _, not := range []string{"Long Furlong", "52.5", "2026-04-12", "lent", "in the hole", "the other field",
		"two views", "Missing"} {
		if strings.Contains(text, not) {
			t.Errorf("it says %q", not)
		}
	}
}

// The page for a landowner says which finds of the land it leaves out, above the signature, in each language.
func TestLandownerPageLeavesOut(t *testing.T) {
	for language, want := range cases.Table[map[string][3]string](t, "LandownerPageLeavesOut") {
		c, err := Copy(t.Context(), sheetReport(),
			Options{Audience: Landowner, Permissions: []string{"permission-1"}, Finds: []string{"1"}})
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := Sheet(&b, c.Report, SheetOptions{Language: language, LeftOut: c.NotShown}); err != nil {
			t.Fatal(err)
		}
		text := b.String()
		left, sign := strings.Index(text, want[0]), strings.Index(text, "<h2>"+want[2])
		if left < 0 || sign < left || !strings.Contains(text, want[1]) || strings.Contains(text, "find 3") {
			t.Errorf("%s: left out at %d, signature at %d", language, left, sign)
		}
	}
}

// Every sentence of the pages is there in every language, and every language has its months.
func TestPageWords(t *testing.T) {
	for _, language := range []string{"en", "de", "nl", "da", "fr", "sv"} {
		w := pageWordsOf(language)
		for _, family := range vocabulary.Get("material-family").Concepts {
			if !slices.Contains(families[:], family.Code) || w.T("family-"+family.Code) == "" {
				t.Errorf("family %s has no words or no sign", family.Code)
			}
		}
		if w.language != language || len(w.months) != 12 || w.day == "" {
			t.Errorf("%s: %+v", language, w.months)
		}
		for key := range w.texts {
			if w.T(key) == "" || strings.Contains(w.T(key), "|") != strings.Contains(w.texts[key]["en"], "|") {
				t.Errorf("%s has no %s", language, key)
			}
		}
	}
}

func TestLacks(t *testing.T) {
	r := sheetReport()
	if got := Lacks(r.Finds[0]); !slices.Equal(got, []string{"two views of it", "the sizes"}) {
		t.Errorf("the bell lacks %q", got)
	}
	if got := Lacks(r.Finds[1]); got != nil {
		t.Errorf("of an explosive it is asked for %q", got)
	}
	if got := Lacks(&find.Find{}); len(got) != 7 || !slices.Contains(got, "the question") {
		t.Errorf("an empty record lacks %q", got)
	}
}

func TestYears(t *testing.T) {
	for in, want := range map[string]string{"1750~": "about 1750", "1701/1800": "1701–1800", "../1900": "before 1900",
		"1840/..": "after 1840", "1750?": "perhaps 1750", "186X": "1860s", "170X": "1700–1709", "17XX": "1700–1799",
		"166X~": "about 1660s", "1750%": "perhaps about 1750", "-0199": "200 BC", "0043/0410": "43–410", "": ""} {
		if got := pageWordsOf("en").years(in); got != want {
			t.Errorf("years(%q) = %q, want %q", in, got, want)
		}
	}
}
