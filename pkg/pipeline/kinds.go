package pipeline

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/spreadsheet"
)

// Kinds returns every kind of notice that can be given, by section of SPEC.md, then code.
func Kinds() []*notice.Kind {
	out := kinds.All()
	slices.SortFunc(out, func(a, b *notice.Kind) int {
		if c := notice.ComparePointers(sectionPointer(a), sectionPointer(b)); c != 0 {
			return c
		}
		return strings.Compare(a.Code, b.Code)
	})
	return out
}

// sectionPointer makes 5.12 come after 5.2.
func sectionPointer(k *notice.Kind) string { return "/" + strings.ReplaceAll(k.Spec, ".", "/") }

// Columns tells what each heading of a spreadsheet is taken for. A file of another format is an
// *InputError.
func Columns(ctx context.Context, name string, o Options) (*spreadsheet.ColumnMap, notice.List, error) {
	o.ctx = ctx
	src, err := openSource(name, o)
	if err != nil {
		return nil, nil, err
	}
	plain := src
	if name, src, err = unwrap(name, src, &o); err != nil {
		return nil, nil, errors.Join(err, src.close())
	}
	wrapped := src != plain
	defer src.close()
	format, err := sniff(name, src, o)
	if err != nil {
		return nil, nil, err
	}
	if format != XLSX && format != CSV {
		return nil, nil, &InputError{File: name, Code: "not-a-table", Msg: "only spreadsheets and CSV files have columns"}
	}
	t := o.Table
	t.File, t.Order, t.Pivot, t.Limits = name, o.Read.Order, o.Read.Pivot, o.Limits
	o.wrapped = wrapped
	st, err := o.besideLog(name, src, format)
	if err != nil {
		return nil, nil, err
	}
	t.Headings = profile.Headings(o.Profiles)
	t = st.table(t, o.Read)
	var m *spreadsheet.ColumnMap
	var list notice.List
	if format == XLSX {
		m, list, err = spreadsheet.ColumnsXLSX(src, src.size, t)
	} else {
		m, list, err = spreadsheet.ColumnsCSV(src, t)
	}
	if stopped := ctx.Err(); stopped != nil {
		return nil, nil, fmt.Errorf("reading %s: %w", name, stopped)
	}
	if err != nil {
		return nil, nil, &InputError{File: name, Code: "columns-unreadable", Msg: err.Error(), Err: err}
	}
	if m.ReportID == "" {
		if m.ReportID = o.ReportID; m.ReportID == "" {
			m.ReportID = find.ReportIDFromName(cmp.Or(o.source, Base(name))) // that which the log has without the map
		}
	}
	return m, list, nil
}
