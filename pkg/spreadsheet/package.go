package spreadsheet

import (
	"archive/zip"
	"encoding/csv"
	"encoding/json"
	"io"
	"net/url"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
)

// EncodePackage writes a report as a zip archive of the tables that a workbook has as sheets, each a CSV file under
// flat names, with two descriptions of them: datapackage.json, a Data Package with Table Schemas, and
// csv-metadata.json, metadata of CSV on the Web. The same report gives the same bytes.
func EncodePackage(w io.Writer, in *find.Stream, o WriteOptions) error {
	sign, err := comma(o.Delimiter)
	if err != nil {
		return err
	}
	r := in.Report
	p := &tables{zip: zip.NewWriter(w), comma: sign,
		rows: map[string]int{"people": len(r.People), "permissions": len(r.Permissions), "outings": len(r.Outings)}}
	if err := encodeSheets(&bookWriter{o: o, tables: p}, in, keyHeading); err != nil {
		return err
	}
	top := object{"profile": "tabular-data-package", "resources": p.resources, "id": r.ID}
	if r.Title != "" {
		top["title"] = r.Title
	}
	if err := p.write("datapackage.json", top); err != nil {
		return err
	}
	if err := p.write("csv-metadata.json", object{"@context": "http://www.w3.org/ns/csvw", "tables": p.web}); err != nil {
		return err
	}
	return p.zip.Close()
}

// tables takes sheets as files of an archive, and says of each what is in it.
type tables struct {
	zip            *zip.Writer
	comma          rune
	rows           map[string]int // of the tables that columns lead to
	now            *csv.Writer
	resources, web []object
}

type object = map[string]any

// leads are the columns that hold the id of a row of another table.
var leads = map[string]string{"finder": "people", "grantedBy": "people", "permission": "permissions", "outing": "outings"}

// types are the names of kinds of field in a Table Schema and in CSV on the Web.
var types = map[find.FieldKind][2]string{find.Decimal: {"number", "decimal"}, find.Flag: {"boolean", "boolean"}}

func (p *tables) sheet(name string, headings []string, of []find.Field) (rowWriter, error) {
	name = strings.ToLower(name)
	file := name + ".csv"
	f, err := p.zip.CreateHeader(&zip.FileHeader{Name: file, Method: zip.Deflate, Modified: bookTime})
	if err != nil {
		return nil, err
	}
	p.now = csv.NewWriter(f)
	p.now.Comma = p.comma
	cells := make([]any, len(headings))
	fields, columns, keys, webKeys := []object{}, []object{}, []object{}, []object{}
	for i, h := range headings {
		cells[i] = h
		kind, title := [2]string{"string", "string"}, h
		if i < len(of) {
			if t, ok := types[of[i].Kind]; ok {
				kind = t
			}
			if of[i].Title != "" {
				title = of[i].Title
			}
		}
		fields = append(fields, object{"name": h, "type": kind[0], "title": title})
		columns = append(columns, object{"titles": h, "name": columnName(h), "datatype": kind[1], "dc:description": title})
		if to := leads[h]; p.rows[to] > 0 && to != name {
			keys = append(keys, object{"fields": h, "reference": object{"resource": to, "fields": "id"}})
			webKeys = append(webKeys, object{"columnReference": h,
				"reference": object{"resource": to + ".csv", "columnReference": "id"}})
		}
	}
	key := "id"
	if name == "report" {
		key = headings[0]
	}
	dialect := object{"delimiter": string(p.comma)}
	p.resources = append(p.resources, object{"name": name, "path": file, "profile": "tabular-data-resource",
		"encoding": "utf-8", "dialect": dialect,
		"schema": object{"fields": fields, "primaryKey": key, "foreignKeys": keys}})
	p.web = append(p.web, object{"url": file, "dialect": dialect,
		"tableSchema": object{"columns": columns, "primaryKey": key, "foreignKeys": webKeys}})
	return p, p.SetRow("", cells)
}

// SetRow writes a row.
func (p *tables) SetRow(_ string, cells []any, _ ...excelize.RowOpts) error {
	record := make([]string, len(cells))
	for i, c := range cells {
		if cell, ok := c.(excelize.Cell); ok {
			c = cell.Value
		}
		switch c := c.(type) {
		case string:
			record[i] = guard(c)
		case float64:
			record[i] = strconv.FormatFloat(c, 'f', -1, 64)
		}
	}
	return p.now.Write(record)
}

// Flush ends a table.
func (p *tables) Flush() error {
	p.now.Flush()
	return p.now.Error()
}

// columnName is a name of CSV on the Web, where only letters, digits, points and _ may stand as they are.
func columnName(heading string) string {
	name, _, _ := strings.Cut(heading, " [")
	return strings.NewReplacer("-", "%2D", "~", "%7E", "+", "%20").Replace(url.QueryEscape(name))
}

func (p *tables) write(name string, v any) error {
	f, err := p.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: bookTime})
	if err != nil {
		return err
	}
	enc := json.NewEncoder(f)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
