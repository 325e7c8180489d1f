package find

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/google/uuid"
)

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
