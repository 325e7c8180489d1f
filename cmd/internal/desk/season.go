package desk

import (
	"bytes"
	"context"
	"time"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/season"
	"github.com/findslip/findslip/pkg/share"

	"github.com/go-json-experiment/json"
)

// season works the season out and returns its figures, and the page or what else was asked for.
func (d *Desk) season(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	so := season.Options{Permissions: ask.Lands, Receiver: ask.Receiver, Year: ask.Year, Best: ask.Best,
		Language: ask.Options.Language, Title: ask.Title, Tool: tool, Day: o.Read.AsOf.String()}
	if ask.For != "" && ask.For != string(season.Show) {
		var err error
		if so.Audience, err = share.ParseAudience(ask.For); err != nil {
			return "", nil, err
		}
	}
	name, err := d.log(ctx, ask, &o)
	if err != nil {
		return "", nil, err
	}
	kept, err := registerOf(ask.Register, time.Now().UTC())
	if err != nil {
		return "", nil, err
	}
	so.Register = func(string) *register.Register { return kept }
	if o.Step == nil {
		o.Step = d.watched()
	}
	made, err := season.Of(ctx, []string{name}, o, so)
	if err != nil {
		return "", nil, err
	}
	figures := struct {
		*season.Season
		Left []string `json:"left,omitzero"` // finds that are left out, and why: for the owner, not to be handed on
	}{made.Season, each(made.Out, why)}
	text, _, err := encode(figures)
	if err != nil {
		return "", nil, err
	}
	var out bytes.Buffer
	switch ask.To {
	case "csv":
		err = made.CSV(&out)
	default:
		err = made.HTML(&out, so.Day)
	}
	return text, out.Bytes(), err
}

// where lays the finds out by fields and, where that is asked, draws the circle that a stranger would be told; the page
// is for the finder alone.
func (d *Desk) where(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	name, err := d.log(ctx, ask, &o)
	if err != nil {
		return "", nil, err
	}
	report, err := pipeline.Collect(ctx, name, o)
	if err != nil {
		return "", nil, err
	}
	var circles []share.Circle
	if ask.Strangers {
		kept, err := registerOf(ask.Register, time.Now().UTC())
		if err != nil {
			return "", nil, err
		}
		copied, err := share.Copy(ctx, report, share.Options{Audience: share.Public, Register: kept,
			Day: o.Read.AsOf.String()})
		if err == nil {
			circles = copied.Circles()
		} // a log that cannot be shared yet can be drawn all the same
	}
	laid := season.WhereOf(report, circles, ask.By, ask.Options.Language)
	var page bytes.Buffer
	if err := laid.HTML(&page); err != nil {
		return "", nil, err
	}
	text, _, err := encode(laid)
	return text, page.Bytes(), err
}

// outlined gives the fields of a stream their outlines, so that the rules can look whether finds lie inside.
func outlined(list []Outline) func(*find.Stream, normalise.Options) (*find.Stream, error) {
	return func(s *find.Stream, _ normalise.Options) (*find.Stream, error) {
		head := *s.Report
		head.Permissions = append([]find.Permission{}, head.Permissions...)
		s.Report = &head
		outline(s.Report, list)
		return s, nil
	}
}

// outline gives the fields of a report their outlines. What is no outline is passed over.
func outline(r *find.Report, list []Outline) {
	for _, l := range list {
		for i := range r.Permissions {
			p := &r.Permissions[i]
			if p.ID == l.Field || p.Place != nil && p.Place.Name != "" && find.FoldName(p.Place.Name) == find.FoldName(l.Field) {
				if area := areaOf(l.Ring); area != nil {
					p.Area = area
				}
			}
		}
	}
}

// areaOf makes an area of a line that a person has drawn.
func areaOf(points [][2]float64) *find.Area {
	if len(points) < 3 {
		return nil
	}
	var ring find.Ring
	for i := range len(points) + 1 {
		at := points[i%len(points)]
		raw, err := json.Marshal([]float64{coordinate.Round7(at[0]), coordinate.Round7(at[1])})
		if err != nil {
			return nil
		}
		ring = append(ring, raw)
	}
	return find.AreaOf([][]find.Ring{{ring}}, false).Wound()
}
