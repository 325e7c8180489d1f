package findslip_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/findslip"
)

const season = "No.,Find,Depth (in),Latitude,Longitude\n1,button,8,52.50123,-1.25678\n2,buckle,lots,52.50131,-1.25702\n"

var ctx = context.Background()

// One record from a form, in five lines.
func ExampleCheckFind() {
	notices, err := findslip.CheckFind([]byte(`{"id": "urn:uuid:b81d36df-7004-57a4-82e9-d934f7bad5d3", "name": "bell", `+
		`"depth": {"verbatim": "8"}}`), findslip.Options{Level: "none"})
	if err != nil {
		fmt.Println(err)
	}
	for _, n := range notices {
		fmt.Printf("%s %s %q\n", n.Severity, n.Code, n.Pointer)
	}
	// Output:
	// warning unit-missing "/depth"
}

func ExampleCheck() {
	r, err := findslip.Check(ctx, findslip.Input{Name: "season.csv", Data: []byte(season)},
		findslip.Options{Level: "none"})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Format, r.Finds)
	for _, n := range r.Notices {
		if n.Severity != "info" {
			fmt.Println(n.Cell, n.Code)
		}
	}
	// Output:
	// csv 2
	// C3 quantity-not-read
}

func ExampleConvert() {
	var out strings.Builder
	r, err := findslip.Convert(ctx, findslip.Input{Name: "season.csv", Data: []byte(season)}, &out,
		findslip.Options{To: "gpx"})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(strings.Count(out.String(), "<wpt"), r.Lost)
	// Output: 2 []
}

func ExampleNormalise() {
	f := &findslip.Find{Name: "bell", Depth: &find.Depth{Quantity: find.Quantity{Verbatim: "7-9 in"}}}
	if _, err := findslip.Normalise(f, findslip.Options{}); err != nil {
		fmt.Println(err)
	}
	fmt.Println(f.Depth.Min, f.Depth.Max, f.Depth.Unit, f.Depth.Said)
	// Output: 17.78 22.86 cm in
}

func ExampleShare() {
	in := findslip.Input{Name: "season.csv", Data: []byte(season)}
	var out strings.Builder
	if _, err := findslip.Share(ctx, in, "public", &out, findslip.Options{To: "findslip"}); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(strings.Contains(out.String(), "52.50123"))
	// Output: false
}

// A find as a struct draws what its JSON draws.
func TestStructs(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/valid/full.findslip.json")
	if err != nil {
		t.Fatal(err)
	}
	whole, err := findslip.Check(ctx, findslip.Input{Data: raw}, findslip.Options{AsOf: "2026-04-12"})
	if err != nil || whole.Finds == 0 || whole.Report == nil || len(whole.Report.People) == 0 {
		t.Fatalf("%v: %+v", err, whole)
	}
	f := &findslip.Find{}
	f.ID, f.Name = "urn:uuid:b81d36df-7004-57a4-82e9-d934f7bad5d3", "bell"
	first, err := findslip.CheckStruct(f, findslip.Options{})
	if err != nil || len(first) == 0 {
		t.Fatalf("%v: %v", err, first)
	}
	second, err := findslip.CheckFind([]byte(`{"id":"urn:uuid:b81d36df-7004-57a4-82e9-d934f7bad5d3","name":"bell"}`),
		findslip.Options{})
	if err != nil || !slices.Equal(first, second) {
		t.Errorf("%v: %v, and as JSON %v", err, first, second)
	}
	for _, n := range first {
		if strings.HasPrefix(n.Pointer, "/finds") || n.String() == "" {
			t.Errorf("%+v", n)
		}
	}
}

// What is no find, or no option, is an error and never a panic or an empty answer.
func TestRefuses(t *testing.T) {
	for _, raw := range []string{"", "7", "[]", `{"id": "a"`, `{"id":"a"},{"id":"b"}`, `{}],"people":[{}`,
		`{"id":"a","id":"b"}`, "{}{}", "\xff"} {
		if got, err := findslip.CheckFind([]byte(raw), findslip.Options{}); err == nil {
			t.Errorf("%q: %v", raw, got)
		}
	}
	in := findslip.Input{Name: "season.csv", Data: []byte(season)}
	for _, o := range []findslip.Options{{From: "x"}, {To: "x"}, {AsOf: "x"}, {Unit: "x"}, {DateOrder: "x"}, {System: "x"},
		{Level: "x"}} {
		if _, err := findslip.Convert(ctx, in, io.Discard, o); err == nil || !strings.HasPrefix(err.Error(), "option ") {
			t.Errorf("%+v: %v", o, err)
		}
	}
	if _, err := findslip.Share(ctx, in, "everybody", io.Discard, findslip.Options{To: "csv"}); err == nil {
		t.Error("an audience that there is not")
	}
	if _, err := findslip.Check(ctx, findslip.Input{Name: "no-such-file.csv"}, findslip.Options{}); err == nil {
		t.Error("a file that is not there")
	}
}

// Nothing is written of a copy that leaks.
func TestLeak(t *testing.T) {
	report := "No.,Find,Finder,Notes\n1,button,Ann Whitethorn,shown by Ann Whitethorn\n"
	var out bytes.Buffer
	_, err := findslip.Share(ctx, findslip.Input{Name: "a.csv", Data: []byte(report)}, "recorder", &out,
		findslip.Options{To: "findslip"})
	if !errors.Is(err, findslip.ErrLeak) || out.Len() > 0 || strings.Contains(err.Error(), "Whitethorn") {
		t.Errorf("%v, %d bytes", err, out.Len())
	}
}
