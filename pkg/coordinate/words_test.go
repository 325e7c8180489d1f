package coordinate

import (
	"math"
	"testing"
)

// Ways to write a position in words and letters, in six languages; common practice, no source. The places follow from
// the figures by hand: 30 minutes 22 seconds are 0.5061111 degrees, 12 minutes 20 seconds 0.2055556.
func TestWordsOfPositions(t *testing.T) {
	for text, want := range map[string]Point{
		"52d30m22s, -1d12m20s": {Longitude: -1.2055556, Latitude: 52.5061111},
		"52d30m22sN 1d12m20sW": {Longitude: -1.2055556, Latitude: 52.5061111},
		"52°30'22S 1°12'20W":   {Longitude: -1.2055556, Latitude: -52.5061111},
		"52,5051° nördlicher Breite, 13,4002° östlicher Länge": {Longitude: 13.4002, Latitude: 52.5051},
		"52.5051 n. Br., 13.4002 ö. L.":                        {Longitude: 13.4002, Latitude: 52.5051},
		"55,6051° nordlig bredde 12,4002° østlig længde":       {Longitude: 12.4002, Latitude: 55.6051},
		"59.6051 nordlig bredd, 18.4002 östlig längd":          {Longitude: 18.4002, Latitude: 59.6051},
		"48.8501 latitude nord, 2.3501 longitude est":          {Longitude: 2.3501, Latitude: 48.8501},
		"52.5001 noorderbreedte 5.4001 oosterlengte":           {Longitude: 5.4001, Latitude: 52.5001},
		"ca. 52.5051, -1.2251":                                 {Longitude: -1.2251, Latitude: 52.5051},
		"etwa 52.5051, -1.2251":                                {Longitude: -1.2251, Latitude: 52.5051},
		"environ 48.8501, 2.3501":                              {Longitude: 2.3501, Latitude: 48.8501},
	} {
		r, err := Normalise(text, Options{})
		if err != nil || math.Abs(r.Point.Latitude-want.Latitude) > 1e-6 ||
			math.Abs(r.Point.Longitude-want.Longitude) > 1e-6 {
			t.Errorf("%q: %v, %v, want %v", text, r.Point, err, want)
		}
	}
	for _, text := range []string{"ca. 52.5051, -1.2251", "about SP 5270 9011", "~52.5051, -1.2251"} {
		r, err := Normalise(text, Options{})
		said := false
		for _, n := range r.Notes {
			said = said || n.Code == "position-approximate"
		}
		if err != nil || !said {
			t.Errorf("%q: %v, %v", text, r.Notes, err)
		}
	}
}
