package spreadsheet

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"regexp"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// TestPackageSaysWhatIsInIt: each table has the columns that datapackage.json (Data Package, Table Schema) and
// csv-metadata.json (W3C, Metadata Vocabulary for Tabular Data, 2015) name, in their order, and a column that leads to
// another table finds its rows there.
func TestPackageSaysWhatIsInIt(t *testing.T) {
	r := example(t)
	var b bytes.Buffer
	if err := EncodePackage(&b, find.StreamOf(r), WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	read := func(name string) []byte {
		f, err := z.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		raw, err := io.ReadAll(f)
		if err != nil {
			t.Fatal(err)
		}
		return raw
	}
	var said struct {
		Resources []struct {
			Name, Path string
			Schema     struct {
				Fields      []struct{ Name, Type string }
				PrimaryKey  string
				ForeignKeys []struct{ Fields string }
			}
		}
	}
	var web struct {
		Tables []struct {
			URL         string
			TableSchema struct {
				Columns []struct{ Titles, Name string }
			}
		}
	}
	if err := json.Unmarshal(read("datapackage.json"), &said); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(read("csv-metadata.json"), &web); err != nil {
		t.Fatal(err)
	}
	// names of URI templates, which CSV on the Web takes (RFC 6570, section 2.3)
	varname := regexp.MustCompile(`^([A-Za-z0-9_]|%[0-9A-F]{2})(\.?([A-Za-z0-9_]|%[0-9A-F]{2}))*$`)
	keys := 0
	for i, res := range said.Resources {
		rows, err := csv.NewReader(bytes.NewReader(read(res.Path))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if len(rows[0]) != len(res.Schema.Fields) || len(rows[0]) != len(web.Tables[i].TableSchema.Columns) {
			t.Fatalf("%s has %d columns and %d are described", res.Path, len(rows[0]), len(res.Schema.Fields))
		}
		for j, f := range res.Schema.Fields {
			c := web.Tables[i].TableSchema.Columns[j]
			if rows[0][j] != f.Name || c.Titles != f.Name || !varname.MatchString(c.Name) {
				t.Errorf("%s, column %d: %q, described as %q and %q (%q)", res.Path, j+1, rows[0][j], f.Name, c.Titles, c.Name)
			}
		}
		keys += len(res.Schema.ForeignKeys)
	}
	if len(said.Resources) < 4 || keys == 0 {
		t.Errorf("%d tables, %d columns that lead to another", len(said.Resources), keys)
	}
}
