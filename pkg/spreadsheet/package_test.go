package spreadsheet

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"regexp"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// TestPackageSaysWhatIsInIt: each table has the columns that datapackage.json (Data Package, Table Schema) and
// csv-metadata.json (W3C, Metadata Vocabulary for Tabular Data, 2015) name, in their order.
func TestPackageSaysWhatIsInIt(t *testing.T) {
	var b bytes.Buffer
	if err := EncodePackage(&b, find.StreamOf(example(t)), WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	var said struct {
		Resources []struct {
			Path   string
			Schema struct {
				Fields      []struct{ Name string }
				ForeignKeys []any
			}
		}
		Tables []struct {
			TableSchema struct {
				Columns []struct{ Titles, Name string }
			}
		}
	}
	for _, name := range []string{"datapackage.json", "csv-metadata.json"} {
		if f, err := z.Open(name); err != nil || json.NewDecoder(f).Decode(&said) != nil {
			t.Fatal(name, err)
		}
	}
	// names of URI templates, which CSV on the Web takes (RFC 6570, section 2.3)
	varname := regexp.MustCompile(`^([A-Za-z0-9_]|%[0-9A-F]{2})(\.?([A-Za-z0-9_]|%[0-9A-F]{2}))*$`)
	for i, res := range said.Resources {
		f, err := z.Open(res.Path)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(f).ReadAll()
		web := said.Tables[i].TableSchema.Columns
		if err != nil || len(rows[0]) != len(res.Schema.Fields) || len(rows[0]) != len(web) {
			t.Fatalf("%s: %d columns are described, %v", res.Path, len(res.Schema.Fields), err)
		}
		for j, h := range rows[0] {
			if h != res.Schema.Fields[j].Name || h != web[j].Titles || !varname.MatchString(web[j].Name) {
				t.Errorf("%s, column %d: %q is described as %q and %v", res.Path, j+1, h, res.Schema.Fields[j].Name, web[j])
			}
		}
	}
	if len(said.Resources) < 4 || len(said.Resources[0].Schema.ForeignKeys) < 2 {
		t.Errorf("%d tables, of finds %v lead to another", len(said.Resources), said.Resources[0].Schema.ForeignKeys)
	}
}
