package spreadsheet

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
)

// Every field of the three tables is one of its records, and each label comes back to its own field.
func TestRecordHeadingsFitTheFields(t *testing.T) {
	for part, fields := range map[string][]string{
		"people": {"id", "name", "name.first", "name.last", "handle", "roles.1", "contact"},
		"permissions": {"id", "place.name", "grantedBy", "occupier", "validFrom", "validTo", "maxDepth", "ploughDepth",
			"landUse", "basis", "terms", "documentNumber"},
		"outings": {"id", "permission", "date", "start", "end", "people", "method", "digRule", "detector.model", "hours",
			"nothingFound"},
	} {
		for _, field := range fields {
			for _, language := range []string{"en", "de", "nl", "da", "fr", "sv"} {
				label := heading.LabelIn(part, field, language)
				if got := heading.UnderstandIn(part, label).Field; label == "" || got != field {
					t.Errorf("%s: label %q of %s in %s is taken for %q", part, label, field, language, got)
				}
			}
		}
	}
}

// logs are one log with its landowners and outings, as people keep them, in English and German.
var logs = map[string]map[string][][]any{
	"by id": {
		"Finds": {{"No", "Find", "Depth (in)", "Finder", "Field", "Outing"},
			{1, "crotal bell", 8, "finder-a", "F1", "12/4/2026"}, {2, "cloth seal", 6, "finder-b", "F2", "13/4/2026"}},
		"Landowners": {{"Our contacts"}, {"No", "Landowner", "Phone", "Email", "Dog"},
			{"L1", "Owner One", "01000 000001", "one@example.org", "barks"}, {"L2", "Owner Two", "01000 000002"}},
		"Permissions": {{"Field no", "Field name", "Landowner", "Max depth (in)", "Valid from", "Gate code"},
			{"F1", "Long Furlong", "L1", 8, "3/4/2026", "by the oak"}, {"F2", "Chapel Piece", "L2", 10, "14/4/2026", nil}},
		"Outings": {{"Date", "Field", "Who", "Hours", "Detector"},
			{"12/4/2026", "F1", "finder-a, finder-b", "3,5", "model one"}, {"13/4/2026", "F2", "finder-b", "2 h", "model one"}},
	},
	"by name": {
		"Funde": {{"Nr", "Fund", "Tiefe (in)", "Finder", "Genehmigung", "Begehung"},
			{1, "Schelle", 8, "finder-a", "Long Furlong", "12.4.2026"},
			{2, "Tuchplombe", 6, "finder-b", "Chapel Piece", "13.4.2026"}},
		"Eigentümer": {{"Nr", "Eigentümer", "Telefon", "E-Mail", "Hund"},
			{"L1", "Owner One", "01000 000001", "one@example.org", "barks"}, {"L2", "Owner Two", "01000 000002"}},
		"Felder": {{"Nr", "Feldname", "Eigentümer", "maximale Tiefe (in)", "gültig ab", "Torcode"},
			{"F1", "Long Furlong", "Owner One", 8, "3.4.2026", "by the oak"},
			{"F2", "Chapel Piece", "Owner Two", 10, "14.4.2026", nil}},
		"Begehungen": {{"Datum", "Acker", "Teilnehmer", "Dauer", "Gerät"},
			{"12.4.2026", "Long Furlong", "finder-a; finder-b", "3,5 Std", "model one"},
			{"13.4.2026", "Chapel Piece", "finder-b", "2", "model one"}},
		"Ausrüstung":  {{"Spaten"}, {"stumpf"}},
		"Funde alt":   {{"Nr", "Fund", "Tiefe"}, {7, "Knopf", "5 cm"}},
		"findslipalt": {{"x"}},
	},
}

func TestSheetsAsPeopleKeepThem(t *testing.T) {
	for name, sheets := range logs {
		t.Run(name, func(t *testing.T) {
			data := book(t, func(f *excelize.File) {
				first := true
				for _, sheet := range slices.Sorted(func(yield func(string) bool) {
					for s := range sheets {
						if !yield(s) {
							return
						}
					}
				}) {
					if first {
						_ = f.SetSheetName("Sheet1", sheet)
						first = false
					} else if _, err := f.NewSheet(sheet); err != nil {
						t.Fatal(err)
					}
					rows(t, f, sheet, sheets[sheet]...)
				}
			})
			r, list := xlsxReport(t, data, Options{})
			var people []string
			ids := map[string]string{}
			for _, p := range r.People {
				role := ""
				if len(p.Roles) > 0 {
					role = p.Roles[0].Code
				}
				people = append(people, strings.Join([]string{p.Name + p.Handle, role, p.Contact}, "|"))
				ids[p.Name+p.Handle] = p.ID
				if !localID.MatchString(p.ID) {
					t.Errorf("id %q", p.ID)
				}
			}
			want := []string{"Owner One|landowner|01000 000001; one@example.org", "Owner Two|landowner|01000 000002",
				"finder-a||", "finder-b||"}
			slices.Sort(people)
			if d := cmp.Diff(want, people); d != "" {
				t.Error(d)
			}
			if len(r.Permissions) != 2 || len(r.Outings) != 2 || len(r.Finds) != 2 && name != "by name" || len(r.Finds) != 3 &&
				name == "by name" {
				t.Fatalf("%d permissions, %d outings, %d finds: %v", len(r.Permissions), len(r.Outings), len(r.Finds), codes(list))
			}
			p, o := r.Permissions[0], r.Outings[0]
			if p.Place.Name != "Long Furlong" || p.GrantedBy != ids["Owner One"] || p.MaxDepth.Verbatim != "8" {
				t.Errorf("%+v", p)
			}
			if o.Permission != p.ID || !slices.Equal(o.People, []string{ids["finder-a"], ids["finder-b"]}) ||
				o.Hours.String() != "3.5" || o.Detector.Model != "model one" {
				t.Errorf("%+v", o)
			}
			for i, f := range r.Finds[:2] {
				if f.Permission != r.Permissions[i].ID || f.Outing != r.Outings[i].ID || f.Finder != o.People[i] {
					t.Errorf("find %d: %s %s %s", i, f.Permission, f.Outing, f.Finder)
				}
			}
			// Nothing is lost: what no field understands stays with its record, and so does an id of their own.
			for _, kept := range []string{"barks", "by the oak", "L1", "F1"} {
				found := false
				for c := range columnsOf(r) {
					found = found || c == kept
				}
				if !found {
					t.Errorf("%q is lost", kept)
				}
			}
			said := codes(list)
			wantSaid := []string{"heading-unknown"}
			if name == "by name" {
				wantSaid = append(wantSaid, "sheet-beside")
			}
			for _, code := range wantSaid {
				if !slices.ContainsFunc(said, func(s string) bool { return strings.HasPrefix(s, code) }) {
					t.Errorf("%s is not said: %v", code, said)
				}
			}
		})
	}
}

func columnsOf(r *find.Report) map[string]bool {
	out := map[string]bool{}
	for _, p := range r.People {
		for _, text := range p.Columns {
			out[text] = true
		}
	}
	for _, p := range r.Permissions {
		for _, text := range p.Columns {
			out[text] = true
		}
	}
	for _, o := range r.Outings {
		for _, text := range o.Columns {
			out[text] = true
		}
	}
	return out
}

// What the form of a sheet may mean is said.
func TestMergedCellsAndHiddenColumnsAreSaid(t *testing.T) {
	data := book(t, func(f *excelize.File) {
		rows(t, f, "Sheet1", []any{"No", "Find", "Date", "Dog"}, []any{1, "bell", "13/4/2026", "x"},
			[]any{2, "pin", nil, "y"})
		if err := f.MergeCell("Sheet1", "C2", "C3"); err != nil {
			t.Fatal(err)
		}
		if err := f.SetColVisible("Sheet1", "D", false); err != nil {
			t.Fatal(err)
		}
	})
	_, list := xlsxReport(t, data, Options{})
	for _, want := range []string{"cells-merged C2", "columns-hidden"} {
		if said := codes(list); !slices.Contains(said, want) {
			t.Errorf("%s is not said: %v", want, said)
		}
	}
	_, list = xlsxReport(t, book(t, func(f *excelize.File) {
		rows(t, f, "Sheet1", []any{"No", "Find", "Where", nil}, []any{1, "bell", "a", "b"})
		_ = f.MergeCell("Sheet1", "C1", "D1")
	}), Options{})
	for _, code := range codes(list) {
		if strings.HasPrefix(code, "cells-merged") || code == "columns-hidden" {
			t.Errorf("%s of headings", code)
		}
	}
}
