package spreadsheet

import (
	"fmt"
	"io"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/aside"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
)

// ColumnMap says what the columns of a sheet are taken for. findslip columns writes one; edited and
// given back, it wins over the headings. It also keeps the id of the report, so that the same log
// always gives the same ids.
type ColumnMap struct {
	Version   string      `json:"columnMap"` // "1.0"
	ReportID  string      `json:"reportId,omitzero"`
	Sheet     string      `json:"sheet,omitzero"`
	Row       int         `json:"headingRow,omitzero"` // from 1
	Unit      string      `json:"unit,omitzero"`       // of lengths and weights that state none
	DateOrder string      `json:"dateOrder,omitzero"`  // dmy, mdy or ymd
	Pivot     int         `json:"pivot,omitzero"`
	System    string      `json:"system,omitzero"` // of bare eastings and northings
	Columns   []MapColumn `json:"columns"`
}

// MapColumn is one column of a map. Field is a flat name, position.easting or position.northing;
// empty: the text is kept under its heading.
type MapColumn struct {
	Column  string `json:"column"` // letters: A, B, ...
	Heading string `json:"heading,omitzero"`
	Field   string `json:"field"`
	Unit    string `json:"unit,omitzero"`
	Order   string `json:"dateOrder,omitzero"`
	System  string `json:"system,omitzero"`
	Taken   string `json:"taken,omitzero"`   // how it was understood: key, heading, axis, map, stead, none
	Nearest string `json:"nearest,omitzero"` // a known heading that looks like it
}

const mapVersion = "1.0"

// ReadMap reads a column map and proves it. Of the limits Side is looked at.
func ReadMap(r io.Reader, limits limit.Limits) (*ColumnMap, error) {
	raw, err := limit.ReadAll(r, "side", limits.WithDefaults().Side)
	if err != nil {
		return nil, err
	}
	m := new(ColumnMap)
	if err := aside.Read(raw, m); err != nil {
		return nil, fmt.Errorf("this is not a column map: %w", err)
	}
	if m.Version != mapVersion {
		return nil, fmt.Errorf("columnMap is %q, not %q: this is not a column map of a known version", m.Version, mapVersion)
	}
	if m.ReportID != "" && !find.IsURN(m.ReportID) {
		return nil, fmt.Errorf("reportId is not a UUID URN in lower case")
	}
	if err := checkHints(m.Unit, m.DateOrder, m.System); err != nil {
		return nil, err
	}
	for i, c := range m.Columns {
		if c.Field != "" && c.Field != "position.easting" && c.Field != "position.northing" {
			if _, err := find.PathTo[find.Find](c.Field); err != nil {
				return nil, fmt.Errorf("columns[%d]: %w", i, err)
			}
		}
		if err := checkHints(c.Unit, c.Order, c.System); err != nil {
			return nil, fmt.Errorf("columns[%d]: %w", i, err)
		}
	}
	return m, nil
}

func checkHints(unit, order, system string) error {
	if unit != "" {
		if _, err := quantity.ParseUnit(unit); err != nil {
			return fmt.Errorf("unit %q is not one of mm, cm, m, in, ft, yd, mg, g, kg, gr, oz, ozt, dwt, lb", unit)
		}
	}
	if _, err := edtf.ParseOrder(order); err != nil {
		return fmt.Errorf("dateOrder %q is not dmy, mdy or ymd", order)
	}
	if system != "" {
		if _, ok := coordinate.SystemByCode(system); !ok {
			return fmt.Errorf("system %q is not known", system)
		}
	}
	return nil
}

// WriteMap writes a column map.
func WriteMap(w io.Writer, m *ColumnMap) error {
	out := *m
	out.Version = mapVersion
	if out.Columns == nil {
		out.Columns = []MapColumn{}
	}
	b, err := json.Marshal(out, jsontext.WithIndent("  "))
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// input is what both forms of table can be read from.
// ColumnsXLSX tells what each heading of a workbook is taken for.
func ColumnsXLSX(r io.ReaderAt, size int64, o Options) (*ColumnMap, notice.List, error) {
	src, list, err := open(r, size, o)
	if err != nil {
		return nil, nil, err
	}
	return columns(src, list, o)
}

// ColumnsCSV tells what each heading of a text table is taken for.
func ColumnsCSV(r io.ReadSeeker, o Options) (*ColumnMap, notice.List, error) {
	src, list, err := openTable(r, o)
	if err != nil {
		return nil, nil, err
	}
	return columns(src, list, o)
}

func columns(src *source, list notice.List, o Options) (*ColumnMap, notice.List, error) {
	d := &decoder{src: src, o: o}
	if err := d.locate(); err != nil {
		return nil, nil, err
	}
	if err := d.survey(); err != nil {
		return nil, nil, err
	}
	list = append(list, d.notices...)
	for i := range list {
		list[i].File = o.File
	}
	m := &ColumnMap{Version: mapVersion, Sheet: src.name(), Row: d.headingRow, DateOrder: d.order.String(), Pivot: o.Pivot}
	if o.Map != nil {
		m.ReportID, m.Unit, m.System = o.Map.ReportID, o.Map.Unit, o.Map.System
	}
	for _, c := range d.columns {
		mc := MapColumn{Column: find.ColumnLetters(c.column), Heading: c.heading, Field: c.Field, Unit: c.Hints.Unit,
			Order: c.Hints.Order, System: c.Hints.System, Taken: c.Taken}
		if c.Field == "" && c.Keep == "" {
			mc.Nearest = heading.Nearest(c.heading)
		}
		m.Columns = append(m.Columns, mc)
	}
	return m, list, nil
}
