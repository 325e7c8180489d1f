package geojson

import (
	"bufio"
	"bytes"
	"errors"
	"io"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/intake"
)

// Encode writes a report. Each feature stands on a line of its own.
func Encode(w io.Writer, s *find.Stream, o Options) error {
	out := &writer{w: bufio.NewWriterSize(w, 1<<16)}
	head := *s.Report
	head.Permissions = append([]find.Permission(nil), head.Permissions...)
	for i := range head.Permissions {
		if p := &head.Permissions[i]; p.SoundAreas() {
			p.Area, p.Excluded = nil, nil // the features are their home
		}
	}
	raw, err := find.CanonicalHeader(&head)
	if err != nil {
		return err
	}
	out.w.WriteString("{\"type\":\"FeatureCollection\",\n\"findslip\":")
	out.w.Write(raw)
	out.w.WriteString(",\n\"features\":[")
	for i := range s.Report.Permissions {
		if err := out.permission(&s.Report.Permissions[i]); err != nil {
			return err
		}
	}
	for e, err := range s.Entries {
		if err != nil {
			return err
		}
		if e.Find == nil {
			continue
		}
		if err := out.find(e.Find, s.Report); err != nil {
			return err
		}
		out.flush()
	}
	out.w.WriteString("\n]}\n")
	return out.w.Flush()
}

// writer builds one feature at a time.
type writer struct {
	w     *bufio.Writer
	buf   []byte
	count int
}

func (w *writer) flush() {
	w.line(w.buf)
	w.buf = w.buf[:0]
}

// line writes a feature.
func (w *writer) line(feature []byte) {
	if w.count++; w.count > 1 {
		w.w.WriteByte(',')
	}
	w.w.WriteByte('\n')
	w.w.Write(feature)
}

func (w *writer) quote(s string) error {
	b, err := jsontext.AppendQuote(w.buf, s)
	w.buf = b
	return err
}

func (w *writer) begin(id string, geometry []byte, record string) error {
	w.buf = append(w.buf[:0], `{"type":"Feature"`...)
	if id != "" {
		w.buf = append(w.buf, `,"id":`...)
		if err := w.quote(id); err != nil {
			return err
		}
	}
	w.buf = append(w.buf, `,"geometry":`...)
	w.buf = append(w.buf, geometry...)
	w.buf = append(w.buf, `,"properties":{"record":"`+record+`"`...)
	return nil
}

func (w *writer) end() {
	w.buf = append(w.buf, "}}"...)
	w.flush()
}

// find builds the feature of a find.
func (w *writer) find(f *find.Find, r *find.Report) error {
	var room [80]byte
	geometry := append(room[:0], "null"...)
	located := f.Position.Located()
	if p := f.Position; located {
		geometry = append(room[:0], `{"type":"Point","coordinates":[`...)
		geometry = append(p.Longitude.Decimal().Append(geometry), ',')
		geometry = append(p.Latitude.Decimal().Append(geometry), "]}"...)
	}
	if err := w.begin(f.ID, geometry, "find"); err != nil {
		return err
	}
	var err error
	if w.buf, err = find.AppendProperties(w.buf, f, located); err != nil {
		return err
	}
	intake.Beside(f, r, func(name, text string) {
		w.buf = append(append(append(w.buf, `,"`...), name...), `":`...)
		err = errors.Join(err, w.quote(text))
	})
	if err != nil {
		return err
	}
	if len(bytes.TrimSpace(f.Unknown)) > 2 {
		w.buf = append(append(w.buf, `,"unknown":`...), f.Unknown...)
	}
	w.buf = append(w.buf, "}}"...)
	return nil
}

// permission writes the area of a permission, and each excluded part, as features.
func (w *writer) permission(p *find.Permission) error {
	flat := *p
	flat.Area, flat.Excluded = nil, nil
	area, excluded := p.Area, p.Excluded
	if !p.SoundAreas() {
		area, excluded = nil, nil
	}
	geometry, err := areaJSON(area)
	if err != nil {
		return err
	}
	if err := w.begin(p.ID, geometry, "permission"); err != nil {
		return err
	}
	if w.buf, err = find.AppendProperties(w.buf, &flat, false); err != nil {
		return err
	}
	w.end()
	for i := range excluded {
		geometry, err := areaJSON(&excluded[i])
		if err != nil {
			return err
		}
		if err := w.begin("", geometry, "excluded"); err != nil {
			return err
		}
		w.buf = append(w.buf, `,"permission":`...)
		if err := w.quote(p.ID); err != nil {
			return err
		}
		w.end()
	}
	return nil
}

func areaJSON(a *find.Area) ([]byte, error) {
	if a == nil {
		return []byte("null"), nil
	}
	return find.Marshal(a.Wound()) // RFC 7946 section 3.1.6: outer rings against the clock
}
