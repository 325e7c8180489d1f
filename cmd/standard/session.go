package main

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"time"

	"github.com/findslip/findslip/cmd/internal/suite"
)

// maxEnds is how often an implementation may crash or fall silent before the rest is not tried.
const maxEnds = 25

// A session is an implementation that is started anew where it ends.
type session struct {
	ctx      context.Context
	command  []string
	talk     io.Writer
	patience time.Duration
	project  fs.FS
	listen   func(direction string, line []byte)
	now      *driver // nil: not running
	ends     int
	errata   map[string]string // why a vector is withdrawn, by id
}

// begin starts the implementation and asks what it is.
func (x *session) begin() (claim, error) {
	d, err := start(x.ctx, x.command, x.talk, x.patience)
	if err != nil {
		return claim{}, err
	}
	if x.listen != nil {
		d.listen = x.listen
	}
	c, err := d.describe()
	if err != nil {
		d.end(0)
		return c, err
	}
	x.now = d
	return c, nil
}

// stop ends it.
func (x *session) stop() {
	if x.now != nil {
		x.now.stop()
		x.now = nil
	}
}

// try runs one vector. An implementation that does not answer as the protocol has it has not met the
// vector; it is ended, and begins anew with the next one.
func (x *session) try(v *suite.Vector) (trial, error) {
	if err := x.ctx.Err(); err != nil {
		return trial{}, fmt.Errorf("stopped: %w", err)
	}
	if why := x.errata[v.ID]; why != "" {
		return trial{faulty: why}, nil
	}
	h, err := v.Request(x.project)
	if err != nil {
		return trial{}, err
	}
	if x.ends >= maxEnds {
		return trial{wrong: []string{fmt.Sprintf("not tried: the implementation failed to answer %d times", x.ends)}}, nil
	}
	if x.now == nil {
		if _, err := x.begin(); err != nil {
			x.ends++
			return trial{wrong: []string{"it does not start again: " + err.Error()}}, nil
		}
	}
	out, err := x.now.try(h, v)
	if err != nil {
		x.ends++
		x.now.end(0)
		x.now = nil
		return trial{wrong: []string{err.Error()}}, nil
	}
	return out, nil
}
