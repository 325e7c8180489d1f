package pipeline_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/findslip/findslip/pkg/pipeline"
)

const (
	packedCSV = "Number,Object,Depth (cm)\n1,crotal bell,20\n2,button,5\n"
	packedGPX = `<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="52.5" lon="-1.2"><name>bell</name></wpt></gpx>`
	packedKML = `<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>bell</name><Point><coordinates>-1.2,52.5</coordinates></Point></Placemark></Document></kml>`
)

func zipped(t *testing.T, files ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(files); i += 2 {
		w, err := z.Create(files[i])
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(files[i+1])); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestPackedFiles: the one log inside an archive is read.
func TestPackedFiles(t *testing.T) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	z.Write([]byte(packedCSV))
	z.Close()
	for name, test := range map[string]struct {
		data   []byte
		format pipeline.Format
		finds  int
		fails  string
	}{
		"season.csv.gz": {packed.Bytes(), pipeline.CSV, 2, ""},
		"season.zip": {zipped(t, "__MACOSX/._log.csv", "x", "folder/", "", "folder/log.csv", packedCSV, "notes.docx",
			"x"), pipeline.CSV, 2, ""},
		"waypoints.zip":  {zipped(t, "points.gpx", packedGPX), pipeline.GPX, 1, ""},
		"map.kmz":        {zipped(t, "doc.kml", packedKML, "files/photo.jpg", "x"), pipeline.KML, 1, ""},
		"two.zip":        {zipped(t, "a.csv", packedCSV, "b.csv", packedCSV), "", 0, `"a.csv", "b.csv"`},
		"cut.csv.gz":     {packed.Bytes()[:20], "", 0, "unexpected EOF"},
		"season.numbers": {zipped(t, "Index/Document.iwa", "x"), "", 0, "a Numbers document"},
		"photo.csv":      {[]byte("\xff\xd8\xff\xe0\x00"), "", 0, "a photo"},
		"field.gpkg":     {[]byte("SQLite format 3\x00"), "", 0, "a GeoPackage"},
	} {
		in, err := pipeline.Open(context.Background(), name, pipeline.Options{FS: fstest.MapFS{name: {Data: test.data}}})
		if test.fails != "" {
			var input *pipeline.InputError
			if err == nil || !strings.Contains(err.Error(), test.fails) || !errors.As(err, &input) && !strings.Contains(name,
				"cut") {
				t.Errorf("%s: error %v", name, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		n := 0
		for _, err := range in.Stream.Entries {
			if err != nil {
				t.Errorf("%s: %v", name, err)
				break
			}
			n++
		}
		if in.Format != test.format || n != test.finds || !strings.HasPrefix(in.Stream.File,
			strings.TrimSuffix(name, ".gz")) {
			t.Errorf("%s: %d finds of the format %s in %s", name, n, in.Format, in.Stream.File)
		}
		if err := in.Close(); err != nil {
			t.Error(err)
		}
	}
}
