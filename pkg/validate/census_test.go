package validate

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
)

// The census says of each find what a plain list of all finds before it says.
func TestCensus(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	c := newCensus()
	var before []*find.Find
	for i := range 20_000 {
		f := &find.Find{ID: fmt.Sprint("id ", r.IntN(15_000)), Number: fmt.Sprint(r.IntN(15_000)),
			Position: &find.Position{Longitude: find.Int(r.IntN(100)), Latitude: find.Int(r.IntN(80))}}
		if r.IntN(10) == 0 {
			f.ID, f.Number = "", ""
		}
		of := &Case{Find: f, Report: &find.Report{}}
		s := c.see(of, Ref{Index: i})
		if again := c.see(of, Ref{Index: i}); again != s || again.i != uint32(i) {
			t.Fatalf("find %d is entered twice", i)
		}
		id, bag, crowd := -1, -1, 1
		for k, other := range before {
			if id < 0 && f.ID != "" && other.ID == f.ID {
				id = k
			}
			if bag < 0 && f.Number != "" && other.Number == f.Number {
				bag = k
			}
			if other.Position.Longitude == f.Position.Longitude && other.Position.Latitude == f.Position.Latitude {
				crowd++
			}
		}
		if i < 4000 || i%50 == 0 { // the list is long to go through
			if got := int(s.sameID); got != id {
				t.Fatalf("find %d: the id was first that of %d, the census says %d", i, id, got)
			}
			if got := int(s.sameBag); got != bag {
				t.Fatalf("find %d: the number was first that of %d, the census says %d", i, bag, got)
			}
			if got := c.crowd(s.i); got != crowd {
				t.Fatalf("find %d: %d finds at its spot, the census says %d", i, crowd, got)
			}
			if f.ID != "" && !c.hasID(sumOf(f.ID)) || c.hasID(sumOf("no such id")) {
				t.Fatalf("find %d: its id is not known, or one that is none", i)
			}
		}
		before = append(before, f)
	}
}

// What the law asks of a find comes back from the census as it was given, whatever its size.
func TestCensusRemembersForTheLaw(t *testing.T) {
	c := newCensus()
	report := &find.Report{}
	id := "urn:uuid:3f2504e0-4f89-41d3-9a0c-0305e82c3301"
	var want []member
	for i := range 3000 {
		f := &find.Find{ID: fmt.Sprint("id ", i), Number: fmt.Sprint(i), Count: &find.Quantity{Min: find.Int(i % 5)}, Found: &find.Found{}}
		day := edtf.Day{Year: 1800 + i/4, Month: uint8(1 + i%12), Day: uint8(1 + i%28)}
		f.Found.Date = day.String()
		switch i % 7 {
		case 1:
			f.Number, f.ID = "", id
		case 2:
			f.Number = fmt.Sprintf("%03d", i)
		case 3:
			f.Number = "4294967296"
		case 4:
			f.Number = "bag " + strings.Repeat("x", 40)
		}
		place := "GB-ENG"
		if i%3 == 0 {
			place = fmt.Sprintf("GB-X%d", i)
		}
		of := &Case{Find: f, Report: report, Permission: &find.Permission{ID: "p", Jurisdiction: place}}
		ref := Ref{Index: i + i/1000, Origin: find.Origin{Row: 2 * (i / 2)}}
		c.see(of, ref)
		label := f.Number
		if label == "" {
			label = f.ID
		}
		want = append(want, member{id: sumOf(f.ID), index: int32(ref.Index), row: int32(ref.Origin.Row), label: label,
			count: int32(max(1, i%5)), what: of.traits(), place: place, found: day})
	}
	for i := range want {
		if got := c.member(uint32(i)); got != want[i] {
			t.Fatalf("find %d is remembered as %+v, was %+v", i, got, want[i])
		}
	}
}

// Bags with plain numbers, far numbers, prefixes and letters are told apart as a plain map does.
func TestBags(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	var b bags
	before := map[[3]string]uint32{}
	for i := range uint32(30_000) {
		number := fmt.Sprint(r.IntN(20_000))
		switch r.IntN(7) {
		case 0:
			number = "LF-" + number
		case 6:
			number = fmt.Sprintf("2026-%d/%d", r.IntN(3000), r.IntN(9))
		case 1:
			number += "abc"[r.IntN(3):][:1]
		case 2:
			number = fmt.Sprint(1_000_000_000_000 + r.IntN(1000))
		case 3:
			number = fmt.Sprint(i/2, "/", 0)
		}
		f := &find.Find{Number: number, Finder: fmt.Sprint(r.IntN(3)), Permission: fmt.Sprint(r.IntN(2))}
		key := [3]string{f.Finder, f.Permission, find.FoldNumber(number)}
		want, again := before[key]
		if !again {
			want, before[key] = i, i
		}
		if got, seen := b.first(&Case{Find: f}, i); got != want || seen != again {
			t.Fatalf("find %d with number %s: %d, %v, want %d, %v", i, number, got, seen, want, again)
		}
	}
	if len(b.series) > seriesMost {
		t.Errorf("there are %d series", len(b.series))
	}
}

// What a find is called comes back as it was, also where it is long and not of ASCII letters.
func TestLabelsComeBack(t *testing.T) {
	var store labelStore
	var labels []string
	var kept []uint32
	for _, f := range []find.Find{
		{Number: "7"}, {Number: "007"}, {Number: "12a"}, {Number: "999999999"}, {Number: "1234567890"}, {ID: "urn:uuid:b81d36df-7004-57a4-82e9-d934f7bad5d3"}, {ID: "my own"},
		{Number: strings.Repeat("é", 126)}, {Number: strings.Repeat("é", 127)}, {Number: "x" + strings.Repeat("é", 199)}, {Number: strings.Repeat("𝄞", 200)}, {Number: strings.Repeat("7", 254)}, {},
	} {
		labels, kept = append(labels, cmp.Or(f.Number, f.ID)), append(kept, store.add(&f))
	}
	for i, label := range labels {
		if got := store.string(kept[i]); got != label {
			t.Errorf("%q came back as %q", label, got)
		}
	}
	if got := store.string(store.add(&find.Find{Number: strings.Repeat("é", 40000)})); len(got) != 65534 || !utf8.ValidString(got) {
		t.Errorf("of 80000 bytes %d came back", len(got))
	}
}
