package spreadsheet

import (
	"archive/zip"
	"encoding/csv"
	"encoding/json"
	"fmt"
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
	p := &tables{zip: zip.NewWriter(w), delimiter: o.Delimiter}
	if err := encodeSheets(&bookWriter{o: o, tables: p}, in, keyHeading); err != nil {
		return err
	}
	if err := p.describe(in.Report); err != nil {
		return err
	}
	return p.zip.Close()
}

// tables takes sheets as files of an archive.
type tables struct {
	zip       *zip.Writer
	delimiter string
	now       *csv.Writer
	list      []described
}

// described is a table and its columns.
type described struct {
	name    string
	columns []columnSaid
}

type columnSaid struct {
	heading string
	field   find.Field
}

func (p *tables) sheet(name string, headings []string, fields []find.Field) (rowWriter, error) {
	d := described{name: strings.ToLower(name)}
	f, err := p.zip.CreateHeader(&zip.FileHeader{Name: d.name + ".csv", Method: zip.Deflate, Modified: bookTime})
	if err != nil {
		return nil, err
	}
	p.now = csv.NewWriter(f)
	if p.now.Comma, err = comma(p.delimiter); err != nil {
		return nil, err
	}
	cells := make([]any, len(headings))
	for i, h := range headings {
		cells[i] = h
		said := columnSaid{heading: h}
		if i < len(fields) {
			said.field = fields[i]
		}
		d.columns = append(d.columns, said)
	}
	p.list = append(p.list, d)
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

// leads are the columns that hold the id of a row of another table.
var leads = map[string]string{"finder": "people", "grantedBy": "people", "permission": "permissions", "outing": "outings"}

// describe writes the two descriptions.
func (p *tables) describe(r *find.Report) error {
	there := map[string]bool{}
	for _, t := range p.list {
		there[t.name] = true
	}
	var resources, onTheWeb []any
	for _, t := range p.list {
		fields, columns, keys, webKeys := []any{}, []any{}, []any{}, []any{}
		for _, c := range t.columns {
			kind, webKind := "string", "string"
			switch c.field.Kind {
			case find.Decimal:
				kind, webKind = "number", "decimal"
			case find.Flag:
				kind, webKind = "boolean", "boolean"
			}
			field := object{"name": c.heading, "type": kind}
			column := object{"titles": c.heading, "name": columnName(c.heading), "datatype": webKind}
			if c.field.Title != "" {
				field["title"], column["dc:description"] = c.field.Title, c.field.Title
			}
			if to := leads[c.heading]; there[to] && to != t.name {
				keys = append(keys, object{"fields": c.heading, "reference": object{"resource": to, "fields": "id"}})
				webKeys = append(webKeys, object{"columnReference": c.heading,
					"reference": object{"resource": to + ".csv", "columnReference": "id"}})
			}
			fields, columns = append(fields, field), append(columns, column)
		}
		schema, web := object{"fields": fields}, object{"columns": columns}
		if t.name != "report" {
			schema["primaryKey"], web["primaryKey"] = "id", "id"
		}
		if len(keys) > 0 {
			schema["foreignKeys"], web["foreignKeys"] = keys, webKeys
		}
		sign, err := comma(p.delimiter)
		if err != nil {
			return err
		}
		resources = append(resources, object{"name": t.name, "path": t.name + ".csv", "profile": "tabular-data-resource",
			"encoding": "utf-8", "dialect": object{"delimiter": string(sign)}, "schema": schema})
		onTheWeb = append(onTheWeb, object{"url": t.name + ".csv", "dialect": object{"delimiter": string(sign)},
			"tableSchema": web})
	}
	top := object{"profile": "tabular-data-package", "resources": resources}
	if r.ID != "" {
		top["id"] = r.ID
	}
	if r.Title != "" {
		top["title"] = r.Title
	}
	if err := p.write("datapackage.json", top); err != nil {
		return err
	}
	return p.write("csv-metadata.json", object{"@context": "http://www.w3.org/ns/csvw", "tables": onTheWeb})
}

type object = map[string]any

// columnName is a name of CSV on the Web, where only letters, digits, points and _ may stand as they are.
func columnName(heading string) string {
	name, _, _ := strings.Cut(heading, " [")
	return strings.NewReplacer("-", "%2D", "~", "%7E", "+", "%20").Replace(url.QueryEscape(name))
}

func (p *tables) write(name string, v any) error {
	raw, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	f, err := p.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: bookTime})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(f, "%s\n", raw)
	return err
}
