package share

import (
	"os"
	"testing"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/register"
)

// Ids and cells as another program worked them out from the specification (testdata/vectors/sharing.json).
func TestVectors(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/vectors/sharing.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Secret string
		IDs    []struct{ Audience, Receiver, Object, ID string }
		Cells  []struct{ Latitude, Longitude, Side, CentreLatitude, CentreLongitude int64 }
	}
	if err := json.Unmarshal(raw, &file, json.MatchCaseInsensitiveNames(true)); err != nil {
		t.Fatal(err)
	}
	if len(file.IDs) == 0 || len(file.Cells) == 0 {
		t.Fatal("there are no vectors")
	}
	for _, v := range file.IDs {
		if got := register.KeyedID(file.Secret, v.Audience, v.Receiver, v.Object); got != v.ID {
			t.Errorf("%+v: %s", v, got)
		}
	}
	for _, v := range file.Cells {
		a := anchorOf(coordinate.Point{Latitude: float64(v.Latitude) / 1e7, Longitude: float64(v.Longitude) / 1e7})
		if lat, lon := cellAround(a, v.Side); lat != v.CentreLatitude || lon != v.CentreLongitude {
			t.Errorf("%+v: %d, %d", v, lat, lon)
		}
	}
}
