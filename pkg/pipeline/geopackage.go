//go:build gpkg

package pipeline

import (
	"database/sql"
	_ "embed" // the tables
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/go-json-experiment/json"
	_ "modernc.org/sqlite" // the driver; 9 MB, which is why GeoPackage is left out unless it is asked for

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/intake"
)

// tables makes the layers. Their columns are the same whatever a log holds, so that a style or a project made for one
// season fits the next, and their names have at most ten letters, of which other map files keep no more. The last
// column, record, holds all that is said, as JSON.
//
//go:embed geopackage.sql
var tables string

// A gpkgLayer is a table of features.
type gpkgLayer struct {
	name string
	said []string   // flat names of what its columns hold, in their order
	box  [4]float64 // west, south, east, north of what was written
	rows *sql.Stmt
}

func newLayer(tx *sql.Tx, name, said string) (l *gpkgLayer, err error) {
	l = &gpkgLayer{name: name, said: strings.Fields(said),
		box: [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}}
	l.rows, err = tx.Prepare("INSERT INTO " + name + " VALUES (NULL, ?, ?" + strings.Repeat(", ?", len(l.said)) + ")")
	return l, err
}

// encodeGeoPackage writes a report as a GeoPackage, made in a folder of its own for its owner alone.
func encodeGeoPackage(w io.Writer, s *find.Stream, u *Unfinished) error {
	folder, err := os.MkdirTemp("", "findslip-*")
	if err != nil {
		return err
	}
	u.begin(folder)
	defer u.end(folder)
	defer os.RemoveAll(folder)
	name := filepath.Join(folder, "report.gpkg")
	db, err := sql.Open("sqlite", name)
	if err != nil {
		return err
	}
	db.SetMaxOpenConns(1)
	err = fillGeoPackage(db, s)
	if cerr := db.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return err
	}
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(w, f)
	return err
}

func fillGeoPackage(db *sql.DB, s *find.Stream) error {
	if _, err := db.Exec(tables); err != nil {
		return err
	}
	tx, err := db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	layers := make([]*gpkgLayer, 3)
	for i, l := range [][2]string{{"finds", "id number name count found.first found.last found.verbatim finder.name " +
		"finder.handle permission.place.name depth depth.min depth.max materials.1 materials.1.code weight weight.min " +
		"dating.verbatim dating.earliest dating.latest position.uncertainty notes"},
		{"permissions", "id place.name basis.code validFrom validTo"}, {"excluded", "id place.name"}} {
		if layers[i], err = newLayer(tx, l[0], l[1]); err != nil {
			return err
		}
	}
	head, err := find.CanonicalHeader(s.Report)
	if err != nil {
		return err
	}
	if _, err := tx.Exec("INSERT INTO report VALUES (NULL, ?)", string(head)); err != nil {
		return err
	}
	if err := land(layers[1], layers[2], s.Report); err != nil {
		return err
	}
	for e, err := range s.Entries {
		if err != nil {
			return err
		}
		if e.Find != nil {
			if err := layers[0].find(e.Find, s.Report); err != nil {
				return err
			}
		}
	}
	for _, l := range layers {
		if l.box[0] > l.box[2] {
			continue
		}
		if _, err := tx.Exec("UPDATE gpkg_contents SET min_x=?, min_y=?, max_x=?, max_y=? WHERE table_name=?",
			l.box[0], l.box[1], l.box[2], l.box[3], l.name); err != nil {
			return err
		}
	}
	return tx.Commit()
}

// row writes a row: the geometry, the columns in their order, and the whole record.
func (l *gpkgLayer) row(geometry []byte, said map[string]string, record any) error {
	raw, err := find.Marshal(record)
	if err != nil {
		return err
	}
	values := []any{geometry}
	if geometry == nil {
		values[0] = nil
	}
	for _, name := range l.said { // columns of numbers make numbers of texts by themselves
		if text := said[name]; text != "" {
			values = append(values, text)
		} else {
			values = append(values, nil)
		}
	}
	_, err = l.rows.Exec(append(values, string(raw))...)
	return err
}

func (l *gpkgLayer) find(f *find.Find, r *find.Report) error {
	said := map[string]string{}
	for c := range find.Flat(f) {
		said[c.Name] = c.Text
	}
	intake.Beside(f, r, func(name, text string) { said[name] = text })
	if !f.Position.Located() {
		return l.row(nil, said, f)
	}
	return l.row(l.point(l.begin(1), f.Position.Longitude, f.Position.Latitude), said, f)
}

// land writes the permissions, and the parts that are left out of them.
func land(permissions, excluded *gpkgLayer, r *find.Report) error {
	for i := range r.Permissions {
		p := &r.Permissions[i]
		said := map[string]string{}
		for c := range find.Flat(p) {
			said[c.Name] = c.Text
		}
		var area []byte
		var err error
		if p.Area != nil && p.SoundAreas() {
			if area, err = permissions.polygons(p.Area); err != nil {
				return err
			}
		}
		if err := permissions.row(area, said, p); err != nil {
			return err
		}
		for k := range p.Excluded {
			if !p.SoundAreas() {
				break // they stay in the record of the permission
			}
			if area, err = excluded.polygons(&p.Excluded[k]); err != nil {
				return err
			}
			if err := excluded.row(area, said, &p.Excluded[k]); err != nil {
				return err
			}
		}
	}
	return nil
}

// begin is the head of a geometry (OGC 12-128r18, 2.1.3), little-endian and without an envelope, and of its well-known
// binary of a kind: 1 a point, 3 a polygon, 6 several polygons.
func (l *gpkgLayer) begin(kind uint32) []byte {
	b := binary.LittleEndian.AppendUint32([]byte{'G', 'P', 0, 1}, 4326)
	return binary.LittleEndian.AppendUint32(append(b, 1), kind)
}

func (l *gpkgLayer) point(b []byte, x, y find.Number) []byte {
	l.box = [4]float64{min(l.box[0], x.Float()), min(l.box[1], y.Float()), max(l.box[2], x.Float()),
		max(l.box[3], y.Float())}
	b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x.Float()))
	return binary.LittleEndian.AppendUint64(b, math.Float64bits(y.Float()))
}

func (l *gpkgLayer) polygons(a *find.Area) ([]byte, error) {
	list, err := a.Wound().Polygons()
	if err != nil {
		return nil, err
	}
	b := binary.LittleEndian.AppendUint32(l.begin(6), uint32(len(list)))
	for _, rings := range list {
		b = binary.LittleEndian.AppendUint32(append(b, 1), 3)
		b = binary.LittleEndian.AppendUint32(b, uint32(len(rings)))
		for _, ring := range rings {
			b = binary.LittleEndian.AppendUint32(b, uint32(len(ring)))
			for _, v := range ring {
				var p []find.Number
				if err := json.Unmarshal(v, &p); err != nil || len(p) < 2 {
					return nil, fmt.Errorf("a position of an area is not a list of two numbers: %s", strings.TrimSpace(string(v)))
				}
				b = l.point(b, p[0], p[1])
			}
		}
	}
	return b, nil
}
