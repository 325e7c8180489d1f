package pipeline

import (
	"bytes"
	"context"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"sync"

	"github.com/findslip/findslip/pkg/bag"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/render"
)

// packFront is the front page of a hand-over: what a receiver opens first.
const packFront = "START-HERE.html"

//go:embed pack_front.html.tmpl
var frontText string

var frontPage = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("front").Funcs(template.FuncMap{"clean": render.Clean, "look": render.Look}).
		Parse(frontText))
})

// mostOnFront is how many finds the front page lists; the workbook has all.
const mostOnFront = 500

// frontRow is a find as the front page lists it.
type frontRow struct{ Number, Name, Material, Day string }

// front gathers the rows of the front page while the finds pass.
type front struct {
	rows  []frontRow
	finds int
}

func (f *front) see(x *find.Find) {
	if f.finds++; f.finds > mostOnFront {
		return
	}
	row := frontRow{Number: x.Number, Name: x.Name}
	if len(x.Materials) > 0 {
		m := &x.Materials[0]
		row.Material = m.Verbatim
		if row.Material == "" {
			row.Material = m.Code
		}
	}
	if x.Found != nil {
		row.Day = x.Found.Date
	}
	f.rows = append(f.rows, row)
}

// page writes the front page.
func (p *Packed) page(f *front, report, book string, o PackOptions) ([]byte, error) {
	audience := p.Result.Report.Audience
	if audience == "" {
		audience = "self"
	}
	var out bytes.Buffer
	err := frontPage().Execute(&out, map[string]any{"Title": p.Result.Report.Title, "Tool": o.Tool, "Day": o.Day,
		"Audience": audience, "Exact": audience != "public" && audience != "expert" && audience != "club",
		"Rows": f.rows, "Finds": f.finds, "More": max(0, f.finds-len(f.rows)), "Report": report, "Book": book,
		"Pictures": p.Pictures, "Missing": append(append([]string{}, p.Missing...), p.Held...)})
	return out.Bytes(), err
}

// workbook writes the report once more as a plain workbook, for who has a spreadsheet program and no other.
func (p *Packed) workbook(ctx context.Context, report *held, o Options) (_ *held, err error) {
	r, err := report.open()
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	in, err := Open(ctx, "-", Options{From: Findslip, Stdin: r, Limits: ownLimits, Unfinished: o.Unfinished})
	if err != nil {
		return nil, err
	}
	defer in.Close()
	out := &held{unfinished: o.Unfinished}
	err = Encode(out, in.Stream.Until(ctx), Options{To: XLSX, Plain: true, Language: o.Language})
	if err != nil {
		out.close()
		return nil, fmt.Errorf("writing the workbook: %w", err)
	}
	return out, nil
}

// forReceivers are the front page and the workbook.
func (p *Packed) forReceivers(ctx context.Context, f *front, report *held, file string, o Options,
	po PackOptions) ([]bag.File, error) {
	book, err := p.workbook(ctx, report, o)
	if err != nil {
		return nil, err
	}
	closing := p.close
	p.close = func() error { book.close(); return closing() }
	name := packReport + po.Name + ".xlsx"
	page, err := p.page(f, file, name, po)
	if err != nil {
		return nil, err
	}
	return []bag.File{bag.Text(packFront, page), {Name: name, Open: book.open}}, nil
}
