package pipeline

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
)

// dangers works out on the log, before anything of it is left out, what is to be said of danger and of the dead, and
// sees to it that no profile keeps such a find back.
func (r *Shared) dangers(ctx context.Context, o Options, to *share.Options) error {
	d := render.Document{}
	r.danger, to.Unsafe = map[string][]*notice.Kind{}, map[string]bool{}
	remains := map[string]bool{}
	err := eachNotice(ctx, streamOf(ctx, r.source), o, func(id string, n *notice.Notice) {
		if !n.Kind.Danger() {
			return
		}
		copied := *n
		copied.Find = strings.Clone(n.Find)
		d.Notices.Add(copied)
		if code := n.Kind.Code; strings.HasPrefix(code, "human-remains") || strings.HasPrefix(code, "aircraft") {
			remains[copied.Find] = true
		}
		if id = strings.Clone(id); id != "" && !slices.Contains(r.danger[id], n.Kind) {
			r.danger[id], to.Unsafe[id] = append(r.danger[id], n.Kind), true
		}
	})
	if delete(remains, ""); to.Audience == share.Public {
		to.Remains = remains
	}
	v := d.Verdict(o.Language)
	r.Danger = v.Danger(nil)
	return err
}

// warnings are what the copy itself tells whoever reads it, by the beginning of the codes: its finder was told, they
// were not.
var warnings = []struct{ begins, code, english string }{
	{"ordnance", "ordnance-possible", "Something in this list may be ammunition that can still explode. Do not touch or " +
		"move such a thing: go away, keep others away and call the police."},
	{"live-", "ordnance-possible", "Something in this list may be ammunition that can still explode. Do not touch or " +
		"move such a thing: go away, keep others away and call the police."},
	{"human-remains", "human-remains-possible", "Something in this list may be human remains. Move nothing where such " +
		"a thing lay, and tell the police and the landowner."},
}

// warn tells whoever reads a copy of what something in it may be.
func (r *Shared) warn(ctx context.Context, language string) error {
	if len(r.danger) == 0 {
		return nil
	}
	return r.Copy.Each(ctx, func(f *find.Find) error {
		for _, kind := range r.danger[r.Copy.Back[f.ID]] {
			for _, w := range warnings {
				text := cmp.Or(render.SayCode(language, w.code), w.english)
				if strings.HasPrefix(kind.Code, w.begins) && !slices.Contains(r.Copy.Report.Notes, text) {
					r.Copy.Report.Notes = append(r.Copy.Report.Notes, text)
				}
			}
		}
		return nil
	})
}

// carried says of the finds of a copy what was said of danger of those that they were made of, so that its reader is
// told of what was taken out of it.
func (r *Shared) carried(s *find.Stream) *find.Stream {
	out := *s
	out.SetEntries(func(yield func(*find.Entry, error) bool) {
		for e, err := range s.Entries {
			if err == nil && e.Find != nil {
				for _, kind := range r.danger[r.Copy.Back[e.Find.ID]] {
					e.Notices.Add(notice.New(kind, "", kind.Title))
				}
			}
			if !yield(e, err) {
				return
			}
		}
	})
	return &out
}
