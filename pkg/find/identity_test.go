package find

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/google/uuid"
)

// RFC 9562 appendix A.4: the name www.example.com in the DNS namespace.
func TestUUIDv5OfTheStandard(t *testing.T) {
	got := uuid.NewSHA1(uuid.NameSpaceDNS, []byte("www.example.com")).String()
	if want := "2ed6657d-e927-568b-95e1-2665a8aea6a2"; got != want {
		t.Errorf("UUIDv5 = %s, want %s", got, want)
	}
}

func TestFoldNumber(t *testing.T) {
	for in, want := range map[string]string{"7": "7", "007": "7", " 7 ": "7", "LF-007 b": "lf-7 b", "LF  007": "lf 7",
		"000": "0", "10": "10", "1.05": "1.5", "Ａ１": "a1", "": ""} {
		if got := FoldNumber(in); got != want {
			t.Errorf("FoldNumber(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestFindID(t *testing.T) {
	a, b := NewReportID(), NewReportID()
	if FindID(a, "007") != FindID(a, "7 ") || FindID(a, "7") == FindID(b, "7") || FindID(a, "7") == FindID(a, "8") {
		t.Error("ids do not follow report and folded number")
	}
	if !IsURN(FindID(a, "7")) || !IsURN(a) || IsURN("urn:uuid:ABC") || IsURN(a[:len(a)-1]+"G") {
		t.Error("IsURN")
	}
	if UnnumberedFindID(a, "x", "y", "z", 1) == UnnumberedFindID(a, "x", "y", "z", 2) {
		t.Error("the ordinal does not tell equals apart")
	}
	if UnnumberedFindID(a, "x", "y", "", 1) == FindID(a, "x") {
		t.Error("an unnumbered find meets a numbered one")
	}
	if ReportIDFromName("Finds.xlsx") != ReportIDFromName("finds.csv") ||
		ReportIDFromName("finds 2026.xlsx") == ReportIDFromName("finds.xlsx") {
		t.Error("report ids do not follow the folded base name")
	}
}

// Numbers that are passed over are those that folding leaves alone, and the id is the UUID of the library.
func TestIDsQuickly(t *testing.T) {
	pieces := []string{"", "0", "00", "7", "10", "a", "B", "-", "/", ".", " ", "é", "\t", "x0"}
	for _, a := range pieces {
		for _, b := range pieces {
			for _, c := range pieces {
				s := a + b + c
				if isFoldedNumber(s) && foldNumber(s) != s {
					t.Fatalf("%q is folded to %q", s, foldNumber(s))
				}
				for _, report := range []string{"", "URN:UUID:0B1F8C7A-94f1-5f0e-8b1a-2f3f6f9c0a11", strings.Repeat("long ", 80)} {
					want := urnPrefix + uuid.NewSHA1(findNamespace, []byte(strings.TrimPrefix(strings.ToLower(report),
						urnPrefix)+"\n"+s)).String()
					if got := makeFindID(report, s); got != want {
						t.Fatalf("%q of %q has the id %s, want %s", s, report, got, want)
					}
				}
			}
		}
	}
}

func TestIsLocalID(t *testing.T) {
	for s, want := range map[string]bool{"person-1": true, "p": true, "": false, "1p": false, "Person": false,
		"p_1": false, "a23456789012345678901234567890123": false} {
		if IsLocalID(s) != want {
			t.Errorf("IsLocalID(%q) = %v", s, !want)
		}
	}
}

func TestIdentityVectors(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/vectors/identity.json")
	if err != nil {
		t.Fatal(err)
	}
	var vectors []struct {
		ID, Kind, Namespace, Name, Report, Number, Date, Place, File string
		Ordinal                                                      int
		Expect                                                       struct{ UUID, Folded, Find, Report string }
	}
	if err := json.Unmarshal(raw, &vectors); err != nil {
		t.Fatal(err)
	}
	if len(vectors) < 20 {
		t.Fatalf("only %d vectors", len(vectors))
	}
	for _, v := range vectors {
		var got, want string
		switch v.Kind {
		case "uuid5":
			got, want = uuid.NewSHA1(uuid.MustParse(v.Namespace), []byte(v.Name)).String(), v.Expect.UUID
		case "numbered":
			got, want = FindID(v.Report, v.Number), v.Expect.Find
			if folded := FoldNumber(v.Number); folded != v.Expect.Folded {
				t.Errorf("%s: folded %q, want %q", v.ID, folded, v.Expect.Folded)
			}
		case "unnumbered":
			got, want = UnnumberedFindID(v.Report, v.Date, v.Place, v.Name, v.Ordinal), v.Expect.Find
		case "file-name":
			got, want = ReportIDFromName(v.File), v.Expect.Report
		default:
			t.Errorf("%s: kind %q", v.ID, v.Kind)
		}
		if got != want || want == "" {
			t.Errorf("%s: %s, want %s", v.ID, got, want)
		}
	}
}
