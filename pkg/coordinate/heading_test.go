package coordinate

import "testing"

// Headings as people write them; common practice, no source.
func TestSystemOfHeading(t *testing.T) {
	for _, c := range []struct {
		heading, code, axis string
		ok                  bool
	}{
		{"Easting", "", AxisEasting, true},
		{"Northing (m)", "", AxisNorthing, true},
		{"Eastings", "", AxisEasting, true},
		{"Lat", "EPSG:4326", AxisLatitude, true},
		{"Latitude", "EPSG:4326", AxisLatitude, true},
		{"Long.", "EPSG:4326", AxisLongitude, true},
		{"Lon (WGS84)", "EPSG:4326", AxisLongitude, true},
		{"GPS Lat", "EPSG:4326", AxisLatitude, true},
		{"latitude_deg", "EPSG:4326", AxisLatitude, true},
		{"Lat/Long", "EPSG:4326", AxisPosition, true},
		{"Lat, Lon", "EPSG:4326", AxisPosition, true},
		{"Grid ref", "", AxisReference, true},
		{"Grid Reference", "", AxisReference, true},
		{"OS grid ref", "EPSG:27700", AxisReference, true},
		{"NGR", "EPSG:27700", AxisReference, true},
		{"Irish grid ref", "EPSG:29903", AxisReference, true},
		{"MGRS", "", AxisReference, true},
		{"EPSG:28992", "EPSG:28992", AxisPosition, true},
		{"EPSG 27700 Easting", "EPSG:27700", AxisEasting, true},
		{"Easting OSGB36 (EPSG:27700)", "EPSG:27700", AxisEasting, true},
		{"RD x", "EPSG:28992", AxisEasting, true},
		{"RD Y", "EPSG:28992", AxisNorthing, true},
		{"X (RD)", "EPSG:28992", AxisEasting, true},
		{"X (1992)", "EPSG:2180", AxisNorthing, true},
		{"y 1992", "EPSG:2180", AxisEasting, true},
		{"PUWG 1992 X", "EPSG:2180", AxisNorthing, true},
		{"Uk\u0142ad 1992 Y", "EPSG:2180", AxisEasting, true},
		{"PL-1992 X", "EPSG:2180", AxisNorthing, true},
		{"PL-2000 strefa 6 X", "EPSG:2177", AxisNorthing, true},
		{"1992", "", "", false},
		{"position 1992", "", "", false},
		{"SWEREF99 TM N", "EPSG:3006", AxisNorthing, true},
		{"SWEREF 99 TM x", "EPSG:3006", AxisNorthing, true},
		{"GK3 Rechtswert", "EPSG:31467", AxisEasting, true},
		{"Hochwert", "", AxisNorthing, true},
		{"LV95 E", "EPSG:2056", AxisEasting, true},
		{"UTM 32N Easting", "EPSG:32632", AxisEasting, true},
		{"ETRS89 UTM 32N N", "EPSG:25832", AxisNorthing, true},
		{"Lambert 72 X", "EPSG:31370", AxisEasting, true},
		{"Position", "", AxisPosition, true},
		{"GPS coordinates", "", AxisPosition, true},
		{"Koordinaten", "", AxisPosition, true},
		{"geogr. Breite", "EPSG:4326", AxisLatitude, true},
		{"Breite WGS84", "EPSG:4326", AxisLatitude, true},
		{"Breitengrad", "EPSG:4326", AxisLatitude, true},
		{"lengtegraad", "EPSG:4326", AxisLongitude, true},
		{"OSGB36 latitude", "EPSG:4277", AxisLatitude, true},
		{"Breite", "", "", false},
		{"Länge", "", "", false},
		{"X", "", "", false},
		{"N", "", "", false},
		{"Length", "", "", false},
		{"Depth", "", "", false},
		{"Location", "", "", false},
		{"Reference", "", "", false},
		{"Eastern field", "", "", false},
		{"", "", "", false},
		{"Find", "", "", false},
	} {
		code, axis, ok := SystemOfHeading(c.heading)
		if code != c.code || axis != c.axis || ok != c.ok {
			t.Errorf("%q: %q %q %v, want %q %q %v", c.heading, code, axis, ok, c.code, c.axis, c.ok)
		}
	}
}
