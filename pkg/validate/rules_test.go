package validate

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/schema"
)

// findsOf returns the finds of a vector.
func findsOf(t testing.TB, v cases.Case) []*find.Find {
	t.Helper()
	in, err := find.DecodeJSON(bytes.NewReader(v.Report), find.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var out []*find.Find
	for e, err := range in.Entries {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, e.Find)
	}
	return out
}

// noticesOf returns all that is reported of a vector.
func noticesOf(t testing.TB, v cases.Case) notice.List {
	t.Helper()
	return judge(t, v.Report)
}

func judge(t testing.TB, report []byte) notice.List {
	validator, err := New(Options{Level: "bag", Rules: "all", AsOf: edtf.Day{Year: 2026, Month: 4, Day: 12}})
	if err != nil {
		t.Fatal(err)
	}
	in, err := find.DecodeJSON(bytes.NewReader(report), find.Options{KeepSource: true})
	if err != nil {
		return nil // not a report at all
	}
	out := validator.Stream(in)
	list := append(notice.List(nil), out.Notices...)
	for e, err := range out.Entries {
		if err != nil {
			return list
		}
		list.Add(e.Notices...)
	}
	list.Sort()
	return list
}

// TestRulesSayTheSameTwice runs every vector twice and compares what is said.
func TestRulesSayTheSameTwice(t *testing.T) {
	all := casesOf(t)
	for _, r := range Catalogue() {
		for _, v := range all[r.Code].Draws {
			first, second := noticesOf(t, v), noticesOf(t, v)
			if len(first) != len(second) {
				t.Fatalf("%s: %d notices, then %d", r.Code, len(first), len(second))
			}
			for i := range first {
				if first[i].Kind != second[i].Kind || first[i].Pointer != second[i].Pointer ||
					first[i].Message != second[i].Message {
					t.Errorf("%s: %+v, then %+v", r.Code, first[i], second[i])
				}
			}
		}
	}
}

// FuzzRules looks for a report on which some rule panics; every vector is a seed.
func FuzzRules(f *testing.F) {
	all := casesOf(f)
	for _, r := range Catalogue() {
		for _, v := range cases.Seeds(slices.Concat(all[r.Code].Draws, all[r.Code].Near)) {
			f.Add([]byte(v.Report))
		}
	}
	f.Fuzz(func(t *testing.T, report []byte) { judge(t, report) })
}

// TestNumberRepeatedWithoutIDs: rows of a sheet have no id yet when they are read, and two bags
// with one number are told apart all the same.
func TestNumberRepeatedWithoutIDs(t *testing.T) {
	log, said := &Roll{}, 0
	for i, number := range []string{"7", "007", "7a", " 7 "} {
		c := &Case{Find: &find.Find{Number: number, Finder: "person-1"}, Report: &find.Report{}}
		log.add(c, lineOf(c), Ref{Index: i})
	}
	numberRepeated.Log(&Case{}, log, func(Ref, string, string) { said++ })
	if said != 2 {
		t.Errorf("%d of the numbers were told to be repeated, want 2", said)
	}
}

// TestEveryDayIsOfTheCalendar puts the 29th of February 2025 (ISO 8601-1: no leap year) into every member of a find
// that the schema gives the form of a day without asking for the calendar.
func TestEveryDayIsOfTheCalendar(t *testing.T) {
	said := map[string]bool{}
	f := &find.Find{Found: &find.Found{}, Recorded: &find.Recorded{}, Identification: &find.Identification{},
		Position: &find.Position{}, OtherPositions: make([]find.Position, 1), Media: make([]find.Media, 1),
		Opinions: make([]find.Opinion, 1), Custody: make([]find.Custody, 1)}
	members := 0
	for _, d := range []*string{&f.Found.Date, &f.Recorded.At, &f.Identification.On, &f.Position.TakenAt,
		&f.OtherPositions[0].TakenAt, &f.Media[0].TakenAt, &f.Opinions[0].On, &f.Custody[0].On} {
		*d = "2025-02-29"
		members++
	}
	dateImpossible.Check(&Case{Find: f}, func(pointer, _ string) { said[pointer] = true })
	text, _ := schema.Text("find")
	// found.date has a pattern of its own; a position stands in two places
	n := len(regexp.MustCompile(`"#/\$defs/(moment|when)"`).FindAllIndex(text, -1)) + 2
	if n != members || len(said) != members {
		t.Errorf("the schema has %d days, the find %d, and %d were told: %v", n, members, len(said), said)
	}
}

// TestTwinSumSeesEveryMember changes one member at a time.
func TestTwinSumSeesEveryMember(t *testing.T) {
	sumOfFind := func(f *find.Find) uint64 { return twinSum(f) }
	plain := sumOfFind(&find.Find{ID: "x"})
	if plain != sumOfFind(&find.Find{ID: "x"}) {
		t.Error("equal finds have different sums")
	}
	yes, no := true, false
	for name, f := range map[string]*find.Find{
		"empty depth":    {ID: "x", Depth: &find.Depth{}},
		"replaces":       {ID: "x", Replaces: []string{"y"}},
		"absent":         {ID: "x", Absent: map[string]string{"/depth": "not-measured"}},
		"extensions":     {ID: "x", Extensions: []byte(`{"club":1}`)},
		"human remains":  {ID: "x", HumanRemains: &yes},
		"none of them":   {ID: "x", HumanRemains: &no},
		"kept of a lot":  {ID: "x", Lot: &find.Lot{Kept: find.Int(0)}},
		"unknown member": {ID: "x", Unknown: []byte(`{"colour":"green"}`)},
	} {
		if sumOfFind(f) == plain {
			t.Errorf("%s: the sum did not change", name)
		}
	}
}

// jpegOf builds the smallest JPEG that says when it was taken: two directories in the byte order
// given (TIFF 6.0 section 2), in an APP1 segment (CIPA DC-008 section 4.7); the tags are those of sections 4.6.3
// and 4.6.5.
func jpegOf(order binary.AppendByteOrder, mark, when string) []byte {
	tiff := order.AppendUint32([]byte(mark), 8)
	tiff = order.AppendUint16(tiff, 1) // first directory: one entry, the pointer to the second
	tiff = order.AppendUint16(tiff, 0x8769)
	tiff = order.AppendUint16(tiff, 4)
	tiff = order.AppendUint32(tiff, 1)
	tiff = order.AppendUint32(tiff, 26)
	tiff = order.AppendUint32(tiff, 0)
	tiff = order.AppendUint16(tiff, 1) // at 26: one entry, the text at 44
	tiff = order.AppendUint16(tiff, 0x9003)
	tiff = order.AppendUint16(tiff, 2)
	tiff = order.AppendUint32(tiff, uint32(len(when)+1))
	tiff = order.AppendUint32(tiff, 44)
	tiff = order.AppendUint32(tiff, 0)
	tiff = append(append(tiff, when...), 0)
	out := []byte{0xff, 0xd8, 0xff, 0xe0, 0, 4, 'J', 'F', 0xff, 0xe1}
	out = binary.BigEndian.AppendUint16(out, uint16(2+6+len(tiff)))
	return append(append(append(out, "Exif\x00\x00"...), tiff...), 0xff, 0xd9)
}

func TestTakenAt(t *testing.T) {
	little, big := jpegOf(binary.LittleEndian, "II*\x00", "2025:04:11 20:15:07"),
		jpegOf(binary.BigEndian, "MM\x00*", "2025:04:11 20:15:07")
	files := fstest.MapFS{
		"little.jpg": {Data: little}, "big.jpg": {Data: big}, "cut.jpg": {Data: little[:60]}, "empty.jpg": {},
		"text.jpg":          {Data: []byte("no picture")},
		"clock-not-set.jpg": {Data: jpegOf(binary.LittleEndian, "II*\x00", "0000:00:00 00:00:00")},
		"words.jpg":         {Data: jpegOf(binary.LittleEndian, "II*\x00", "    :  :     :  :  ")},
	}
	for name, want := range map[string]string{
		"little.jpg": "2025-04-11T20:15:07", "./big.jpg": "2025-04-11T20:15:07", "cut.jpg": "", "empty.jpg": "",
		"text.jpg":          "",
		"clock-not-set.jpg": "", "words.jpg": "", "nowhere.jpg": "", "../little.jpg": "",
	} {
		if got, ok := takenAt(&Case{Files: files, run: &frame{mostPicture: 1 << 20}}, name); ok != (want != "") || ok &&
			got != want {
			t.Errorf("%s: %q, %v, want %q", name, got, ok, want)
		}
	}
	if _, ok := takenAt(&Case{}, "little.jpg"); ok {
		t.Error("a picture was read from nowhere")
	}
}

// TestRounding holds half the diagonal of the cell of the last decimal to the figures computed on
// the ellipsoid in gridref_precision.csv. The rule takes a sphere, which is off by less than 1 %.
func TestRounding(t *testing.T) {
	checked := 0
	for _, row := range cases.Reference(t, "gridref_precision.csv") {
		if row["notation"] != "Decimal degrees" {
			continue
		}
		decimals, want := number(t, strings.Fields(row["precision"])[0]).Int(), number(t, row["half_diagonal_m"]).Float()
		got := rounding(decimals, number(t, row["latitude_deg"]).Float())
		if math.Abs(got-want) > want/100 {
			t.Errorf("%s: %v m, want %v m", row["id"], got, want)
		}
		checked++
	}
	if checked < 20 {
		t.Errorf("only %d rows were checked", checked)
	}
}

// TestMessagesKeepPlacesSecret runs the vectors of rules that speak of places and looks for the
// figures of the position in what is said.
func TestMessagesKeepPlacesSecret(t *testing.T) {
	all := casesOf(t)
	for _, r := range append(positionRules, readingRules...) {
		for _, v := range all[r.Code].Draws {
			for _, n := range noticesOf(t, v) {
				for _, f := range secretsOf(t, v) {
					if f != "" && strings.Contains(n.Message, f) {
						t.Errorf("%s: the message %q repeats what it must not", r.Code, n.Message)
					}
				}
			}
		}
	}
}

// secretsOf returns the figures and texts of a report that no message may repeat.
func secretsOf(t *testing.T, v cases.Case) []string {
	var out []string
	for _, f := range findsOf(t, v) {
		add := func(p *find.Position) {
			for _, n := range []find.Number{p.Longitude, p.Latitude} {
				if s := n.String(); len(s) > 4 {
					out = append(out, s, strings.TrimPrefix(s, "-"))
				}
			}
			out = append(out, p.Verbatim)
		}
		if f.Position != nil {
			add(f.Position)
		}
		for i := range f.OtherPositions {
			add(&f.OtherPositions[i])
		}
		if f.Place != nil {
			out = append(out, f.Place.Name, f.Place.Parish)
		}
	}
	return out
}

// Distances are those of the ellipsoid to a hundredth, far from Greenwich too.
func TestMetres(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 10_000 {
		p := coordinate.Point{Longitude: r.Float64()*358 - 179, Latitude: r.Float64()*160 - 80}
		q := coordinate.Point{Longitude: p.Longitude + (r.Float64()-0.5)*0.0004,
			Latitude: p.Latitude + (r.Float64()-0.5)*0.0004}
		a, b := line{x: int32(p.Longitude * 1e7), y: int32(p.Latitude * 1e7)}, line{x: int32(q.Longitude * 1e7),
			y: int32(q.Latitude * 1e7)}
		if d, got := coordinate.Distance(p, q), a.metres(&b); math.Abs(d-got) > 0.01*d+0.02 {
			t.Fatalf("%v to %v: %.2f m, want %.2f", p, q, got, d)
		}
	}
}
