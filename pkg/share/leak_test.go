package share

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"image"
	"image/png"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"pgregory.net/rapid"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
)

// leakSource is a report with one known place: 52.5063914, -1.2249252, which is SP 52700 90115.
func leakSource() *find.Report {
	source := randomReport(rand.New(rand.NewPCG(31, 32)))
	p := source.Finds[0].Position
	p.Latitude, p.Longitude, p.Verbatim = find.Float(52.5063914), find.Float(-1.2249252), "by the old oak"
	source.People = append(source.People, find.Person{ID: "person-3", Name: "Jörg Ærøbell", Contact: "01632 960 987"},
		find.Person{ID: "person-4", Name: "Tilly Bell"})
	source.Permissions = append(source.Permissions,
		find.Permission{ID: "permission-3", Place: &find.Place{Name: "Wood", Parish: "Straße am Kälberhof"},
			DocumentNumber: "TH/2026/17"})
	source.Finds[0].Media = []find.Media{{File: "pictures/IMG_4711.jpg"}}
	source.Finds[0].OtherNumbers = []find.OtherNumber{{Number: "MID-2026-77"}}
	return source
}

// leaksOf are the leaks that are found in some bytes.
func leaksOf(t testing.TB, data []byte, source *find.Report, c *Copied, a Audience) []Leak {
	t.Helper()
	looked, err := Leaks(t.Context(), data, source, c, a, limit.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	return looked.Leaks
}

// Whatever stands in a text that the public may not see is found, in each spelling, alphabet and
// wrapping; the coordinates of the place in other grids were worked out with PROJ's cs2cs 9.1.1 (the
// British square) and by moving the point (degrees).
func TestEverySpellingIsFound(t *testing.T) {
	source := leakSource()
	for _, row := range tableOf(t, "spellings") {
		kind := strings.TrimPrefix(row[0], "-")
		text, err := strconv.Unquote(row[1])
		if err != nil {
			t.Fatalf("%s: %v", row[1], err)
		}
		leaks := leaksOf(t, []byte(text), source, nil, Public)
		if kind == "" && len(leaks) > 0 || kind != "" && !slices.ContainsFunc(leaks,
			func(l Leak) bool { return l.Kind == kind }) {
			t.Errorf("%q: %v, want %q", text, leaks, kind)
		}
		for _, l := range leaks {
			if strings.Contains(l.String(), text) {
				t.Errorf("the leak quotes %q", text)
			}
		}
	}
}

// packed is a zip file of one part.
func packed(t *testing.T, name, comment, note string, content []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, err := z.CreateHeader(&zip.FileHeader{Name: name, Comment: note})
	if err == nil {
		_, err = w.Write(content)
	}
	if err = errors.Join(err, z.SetComment(comment), z.Close()); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Wrappings of one and the same words.
func TestEveryWrappingIsOpened(t *testing.T) {
	source := leakSource()
	const words = "we met Jörg Ærøbell at Long Furlong"
	wide := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(words)) {
		wide = append(wide, byte(u), byte(u>>8))
	}
	pack := func(name, comment, note string, content []byte) []byte {
		return packed(t, name, comment, note, content)
	}
	for name, data := range map[string][]byte{
		"UTF-16":           wide,
		"Latin 1":          []byte("we met J\xf6rg \xc6r\xf8bell at Long Furlong"),
		"JSON escapes":     []byte(`{"a": "we met J\u00f6rg\n\u00c6r\u00f8bell"}`),
		"entities":         []byte("<p>we met J&#246;rg &AElig;r&#xf8;bell</p>"),
		"tags":             []byte("<si><r><t>Long </t></r><r><t>Fur</t></r><r><t>long</t></r></si>"),
		"a packed file":    pack("a.txt", "", "", []byte(words)),
		"packed twice":     pack("a.zip", "", "", pack("b.txt", "", "", []byte(words))),
		"a name":           pack("Long Furlong.txt", "", "", []byte("nothing")),
		"a comment":        pack("a.txt", "Long Furlong", "", []byte("nothing")),
		"a part's note":    pack("a.txt", "", "Long Furlong", []byte("nothing")),
		"an array of JSON": []byte(`["Long\tFurlong"]`),
	} {
		leaks := leaksOf(t, data, source, nil, Public)
		if len(leaks) == 0 {
			t.Errorf("nothing is found in %s", name)
		}
		for _, l := range leaks {
			if strings.Contains(l.String(), "Furlong") {
				t.Errorf("%s: the leak is quoted: %s", name, l)
			}
		}
	}
	deep := []byte("nothing")
	for range maxDepth + 2 {
		deep = pack("a.zip", "", "", deep)
	}
	if looked, err := Leaks(t.Context(), deep, source, nil, Public, limit.Limits{}); err != nil ||
		len(looked.Unread) == 0 {
		t.Error("what is packed too deep is taken for looked through")
	}
}

// A member that could not be read is as private as if it had been.
func TestUnreadMembersAreSecret(t *testing.T) {
	source := &find.Report{Findslip: "1.0",
		Unknown: []byte(`{"people": [{"name": "Hilda Whitethorn", "contact": "01632 960123", "roles": ["finder"]}], ` +
			`"permissions": [{"place": {"name": "Long Furlong"}}]}`),
		Finds: []*find.Find{{ID: find.NewReportID(), Name: "button",
			Unknown: []byte(`{"position": {"latitude": 52.5063914, "longitude": -1.2249252, "verbatim": "old oak hedge"}}`)}}}
	for text, kind := range map[string]string{"Mrs Whitethorn": "name", "01632960123": "contact", "Long Furlong": "place",
		"52.50639": "position", "SP 527 901": "grid-reference", "old oak hedge": "place"} {
		leaks := leaksOf(t, []byte(text), source, nil, Public)
		if !slices.ContainsFunc(leaks, func(l Leak) bool { return l.Kind == kind }) {
			t.Errorf("%q: %v, want %s", text, leaks, kind)
		}
	}
	if leaks := leaksOf(t, []byte("at Long Furlong, SP 527 901"), source, nil, Recorder); len(leaks) > 0 {
		t.Errorf("the recorder may know the place: %v", leaks)
	}
}

// A landowner's copy may name the own land in every spelling, and no spot of the next field.
func TestNextFieldIsSecret(t *testing.T) {
	source := randomReport(rand.New(rand.NewPCG(33, 34)))
	own, next := source.Finds[0].Position, source.Finds[1].Position
	own.Latitude, own.Longitude = find.Float(52.5063914), find.Float(-1.2249252)
	next.Latitude, next.Longitude = find.Float(52.5093914), find.Float(-1.2249252)
	c, err := Copy(t.Context(), source, Options{Audience: Landowner, Permissions: []string{"permission-1"}})
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]bool{"SP 52700 90115": false, "52.5063914": false, "at Long Furlong": false,
		"at Chapel Piece": true, "52.5093914": true, "SP 52697 90449": true} {
		if leaks := leaksOf(t, []byte(text), source, c, Landowner); len(leaks) > 0 != want {
			t.Errorf("%q: %v", text, leaks)
		}
	}
	if len(c.Report.People) != 2 {
		t.Errorf("the landowner sees %d people", len(c.Report.People))
	}
}

// What leaks in words is taken out where the finder asks for it, and then nothing leaks.
func TestHoldBack(t *testing.T) {
	source := leakSource()
	source.Finds[0].Name = "button of SF-001"
	source.Finds[1].Media = []find.Media{{File: "a.jpg", View: &find.Term{Code: "front"}, Caption: "at Long Furlong"}}
	source.Title = "Wood and Long Furlong"
	for _, a := range []Audience{Partner, Recorder} {
		c, err := Copy(t.Context(), source, Options{Audience: a})
		if err != nil {
			t.Fatal(err)
		}
		spans, err := spansOf(t.Context(), source, c, a)
		if err != nil {
			t.Fatal(err)
		}
		if len(spans) == 0 {
			t.Fatalf("%s: nothing to hold back", a)
		}
		for _, s := range spans {
			if s.From >= s.To {
				t.Errorf("the span is %+v", s)
			}
		}
		if !held(t, c, spans) {
			t.Errorf("%s: nothing is held back", a)
		}
		if left, err := spansOf(t.Context(), source, c, a); err != nil || len(left) > 0 {
			t.Errorf("%s: %v still leak", a, left)
		}
		for format, data := range encodings(t, c.Report) {
			if leaks := leaksOf(t, data, source, c, a); len(leaks) > 0 {
				t.Errorf("%s for %s: %v", format, a, leaks)
			}
		}
	}
}

// A field called as a cell is, or as a count of rows, is met in no part of a workbook but where somebody wrote it.
func TestCellNamesAreNoWords(t *testing.T) {
	const sheet = `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" mc:Ignorable="x12ac ` +
		`x14ac">` +
		`<dimension ref="A1:C40"/><row r="12" spans="1:3"><c r="B12" s="12" t="inlineStr"><is><t>%s</t></is></c></row>`
	for _, field := range []string{"B12", "Field 12", "Twelve Acre", "Forty Acre", "No 12"} {
		source := leakSource()
		source.Permissions[0].Place.Name = field
		for text, told := range map[string]bool{"bent": false, "off " + field: true} {
			book := packed(t, "xl/worksheets/sheet1.xml", "", "", fmt.Appendf(nil, sheet, text))
			if got := leaksOf(t, book, source, nil, Expert); (len(got) > 0) != told {
				t.Errorf("field %s, cell %q: %v", field, text, got)
			}
		}
	}
}

// Positions of any length of whole part and decimals are taken in, and found again.
func TestFiguresOfAnyLength(t *testing.T) {
	for _, lat := range []string{"0", "9", "9.1", "52.123", "52.1234", "52.12345", "52.1234567", "-0.0000001",
		"-89.9999999"} {
		for _, lon := range []string{"0", "1.2", "-17.123", "143.1842", "143.18421", "-179.9999999", "0.1234"} {
			la, _ := find.ParseNumber(lat)
			lo, _ := find.ParseNumber(lon)
			source := &find.Report{Findslip: "1.0",
				Finds: []*find.Find{{ID: find.NewReportID(), Name: "button",
					Position: &find.Position{Latitude: la, Longitude: lo}}}}
			leaks := leaksOf(t, []byte(lat+", "+lon), source, nil, Public)
			_, decimals, _ := strings.Cut(lon, ".")
			_, more, _ := strings.Cut(lat, ".")
			if len(leaks) == 0 && min(len(decimals), len(more)) >= 2 {
				t.Errorf("%s, %s: nothing is found", lat, lon)
			}
		}
	}
}

// A picture within a page is looked at as a picture: its letters, in which marks of HTML may stand for
// signs, are no text that could hold a postcode or a name by chance.
func TestLettersOfPicturesAreNoText(t *testing.T) {
	source := leakSource()
	leaksIn := func(page string) []Leak { return leaksOf(t, []byte(page), source, nil, Public) }
	noise := image.NewGray(image.Rect(0, 0, 400, 400))
	random := rand.New(rand.NewPCG(1, 2))
	for i := range noise.Pix {
		noise.Pix[i] = byte(random.Uint32())
	}
	var img bytes.Buffer
	if err := png.Encode(&img, noise); err != nil {
		t.Fatal(err)
	}
	code := base64.StdEncoding.EncodeToString(img.Bytes())
	marks := strings.NewReplacer("+", "&#43;", "/", "&#x2F;", "=", "&#61;").Replace(code)
	for _, code := range []string{code, marks} {
		if leaks := leaksIn(`<html><img src="data:image/png;base64,` + code + `"></html>`); len(leaks) > 0 {
			t.Errorf("in the letters of a picture: %v", leaks)
		}
		if leaks := leaksIn(`<html><img src="data:image/png;base64,` + code + `"> ZZ9 9ZZ</html>`); len(leaks) != 1 {
			t.Errorf("a postcode behind a picture: %v", leaks)
		}
	}
	// What only looks like the address of a picture is what somebody wrote.
	for _, words := range []string{"data:image/png;base64,ZZ99ZZ", "data:image/x;base64,AB12CDE=",
		"data:image/png;base64,ZZ99ZZ=="} {
		for _, page := range []string{"<html><p>" + words + "</p></html>", `<kml><value a="` + words + `"/></kml>`} {
			if len(leaksIn(page)) == 0 {
				t.Errorf("nothing is found in %s", page)
			}
		}
	}
}

// Codes of cells that people paste from maps, and addresses of the web. The geohash and the open location code
// of the spot were worked out by hand from their definitions (from memory).
func TestCellCodes(t *testing.T) {
	source := leakSource()
	codes := cellCodes(place{}.point)
	if codes[0] != "s00000" || codes[1] != "6fg22222" {
		t.Errorf("the codes of 0, 0 are %v", codes)
	}
	own := cellCodes(*pointOf(source.Finds[0]))
	for _, text := range []string{own[0], strings.ToUpper(own[0]) + "x7", strings.ToUpper(own[1]) + "+F2",
		"https://maps.example/place/Long%20Furlong", "Long=20Furlong", "https://maps.example/?q=52.50639%2C-1.22492"} {
		if len(leaksOf(t, []byte("see "+text), source, nil, Public)) == 0 {
			t.Errorf("%s is not found", text)
		}
	}
}

// An opinion says no more of a find than its audience sees, and a link tells of no find that is kept back.
func TestOpinionsAndLinks(t *testing.T) {
	source := fieldAt([2]float64{52.4999, -1.2001}, [2]float64{52.4998, -1.2003})
	source.Finds[0].Opinions = []find.Opinion{{Says: []byte(`{"name":"bell","value":"40 pounds","storagePlace":"the ` +
		`loft","whim":1}`)}}
	source.Finds[0].Associated = []find.Association{{Find: source.Finds[1].ID}}
	source.Finds[1].EmbargoUntil = "2030"
	c, err := Copy(t.Context(), source, Options{Audience: Partner, Day: "2026-06-01"})
	if err != nil {
		t.Fatal(err)
	}
	if f := c.Report.Finds[0]; string(f.Opinions[0].Says) != `{"name":"bell"}` || len(f.Associated) > 0 {
		t.Errorf("the partner sees %s, %v", f.Opinions[0].Says, f.Associated)
	}
}

// spansOf are the spans of words of a copy that leak.
func spansOf(ctx context.Context, source *find.Report, c *Copied, a Audience) ([]Span, error) {
	s, err := NewSearch(ctx, Held(source), c, a)
	if err != nil {
		return nil, err
	}
	return s.Spans(ctx, c)
}

// held withholds what leaks.
func held(t testing.TB, c *Copied, spans []Span) bool {
	t.Helper()
	changed, err := HoldBack(t.Context(), c, spans)
	if err != nil {
		t.Fatal(err)
	}
	return changed
}

// TestIDsAreNoTelephone: the digits of an id of a copy mean nothing, whatever the key made of them.
func TestIDsAreNoTelephone(t *testing.T) {
	source := leakSource()
	c, err := Copy(t.Context(), source, Options{Audience: Club})
	if err != nil {
		t.Fatal(err)
	}
	clean := `{"id":"person-441632960123"},{"id":"permission-016329601234"},{"id":"outing-077009004170"}`
	if leaks := leaksOf(t, []byte(clean), source, c, Club); len(leaks) > 0 {
		t.Errorf("ids are taken for %v", leaks)
	}
	if leaks := leaksOf(t, []byte(`{"name":"ring 01632 960123"}`), source, c, Club); len(leaks) == 0 {
		t.Error("a telephone number is not found")
	}
}

// TestFixedOfRuns: to look for ids, sums and stamps run by run finds what a look at the whole text does.
func TestFixedOfRuns(t *testing.T) {
	part := rapid.SampledFrom([]string{"7701c14b-cbc2-5456-878a-cd1eefc581df", "2026-04-12", "2026-04-12T10:11:12+01:00",
		"2026-04/2026-05", "person-0123456789ab", "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef", "_",
		"-", "a", "7", "/", ".", " ", "\n", "ø", "\"", "urn:uuid:", "\xff"})
	rapid.Check(t, func(t *rapid.T) {
		var text string
		for _, p := range rapid.SliceOfN(part, 0, 12).Draw(t, "parts") {
			text += p
		}
		var whole [][2]int
		for _, m := range stamped().FindAllStringIndex(text, -1) {
			whole = append(whole, [2]int{m[0], m[1]})
		}
		ids, sums, stamps := fixedOf(text)
		all := slices.Concat(ids, sums, stamps)
		slices.SortFunc(all, func(a, b [2]int) int { return a[0] - b[0] })
		if !slices.Equal(all, whole) {
			t.Fatalf("%q: %v, want %v", text, all, whole)
		}
	})
}
