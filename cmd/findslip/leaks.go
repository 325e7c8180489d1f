package main

import (
	"context"
	"fmt"
	"io"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/share"
)

// checkLeaks looks through files of any sort, pictures too, for what the source has and their
// audience may not see, tells it and returns errNotices where it finds something. The audience is
// a, else the one a file states, else the public.
func (p *program) checkLeaks(ctx context.Context, files []string, source string, a share.Audience, o pipeline.Options) error {
	any := false
	for _, name := range files {
		leaks, audience, err := pipeline.Leaks(ctx, name, source, a, o)
		if err != nil {
			return err
		}
		if len(leaks) == 0 {
			p.say("%s: nothing is found that %s may not see; read it before you hand it on", name, audience)
			continue
		}
		any = true
		fmt.Fprintf(p.out, "%s: gives away what %s may not see\n", name, audience)
		p.listLeaks(p.out, leaks)
	}
	if any {
		return errNotices
	}
	return nil
}

// listLeaks tells leaks by kind and member.
func (p *program) listLeaks(w io.Writer, list []share.Leak) {
	for i, l := range list {
		if i == 20 {
			fmt.Fprintf(w, "  and %d more\n", len(list)-i)
			return
		}
		fmt.Fprintf(w, "  %s\n", l)
	}
}
