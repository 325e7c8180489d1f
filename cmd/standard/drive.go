package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"slices"
	"time"

	"github.com/findslip/findslip/cmd/internal/suite"
)

// maxLine bounds one answer.
const maxLine = 64 << 20

// A driver talks with one implementation.
type driver struct {
	cmd      *exec.Cmd
	in       io.WriteCloser
	lines    chan []byte
	ended    chan error
	patience time.Duration
	listen   func(direction string, line []byte)
	can      []string // operations that are claimed
	claims   *suite.Claims
}

// start runs the command of an implementation. What it says on standard error is passed on.
func start(ctx context.Context, command []string, talk io.Writer, patience time.Duration) (*driver, error) {
	cmd := exec.CommandContext(ctx, command[0], command[1:]...)
	cmd.Stderr = talk
	in, err := cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, fmt.Errorf("starting the implementation: %w", err)
	}
	d := &driver{cmd: cmd, in: in, lines: make(chan []byte), ended: make(chan error, 1), patience: patience,
		listen: func(string, []byte) {}}
	go func() {
		defer close(d.lines)
		scan := bufio.NewScanner(out)
		scan.Buffer(make([]byte, 1<<16), maxLine)
		for scan.Scan() {
			select {
			case d.lines <- bytes.Clone(scan.Bytes()):
			case <-ctx.Done():
				return
			}
		}
		d.ended <- scan.Err()
	}()
	return d, nil
}

// stop ends the implementation: its input is closed, and it is killed if that does not do.
func (d *driver) stop() { d.end(2 * time.Second) }

// end is stop with a time after which it is killed.
func (d *driver) end(grace time.Duration) {
	d.in.Close()
	timer := time.AfterFunc(grace, func() { _ = d.cmd.Process.Kill() })
	defer timer.Stop()
	go func() {
		for range d.lines { // let it finish what it says
		}
	}()
	_ = d.cmd.Wait()
}

// ask sends one request and waits for the answer to it.
func (d *driver) ask(h suite.Hand) (suite.Answer, error) {
	var a suite.Answer
	var line bytes.Buffer
	enc := json.NewEncoder(&line)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(h); err != nil {
		return a, err
	}
	d.listen(">", bytes.TrimSpace(line.Bytes()))
	sent := make(chan error, 1)
	go func() {
		_, err := d.in.Write(line.Bytes())
		sent <- err
	}()
	timer := time.NewTimer(d.patience)
	defer timer.Stop()
	for {
		select {
		case err := <-sent:
			if err != nil {
				return a, fmt.Errorf("the implementation does not listen: %w", err)
			}
			sent = nil
		case text, ok := <-d.lines:
			if !ok {
				return a, errors.Join(errors.New("the implementation ended without an answer"), <-d.ended)
			}
			d.listen("<", text)
			if len(bytes.TrimSpace(text)) == 0 {
				continue
			}
			dec := json.NewDecoder(bytes.NewReader(text))
			dec.DisallowUnknownFields()
			if err := dec.Decode(&a); err != nil {
				return a, fmt.Errorf("the answer is not as the protocol has it: %w", err)
			}
			if a.ID != h.ID {
				return a, fmt.Errorf("the answer is to %q", a.ID)
			}
			return a, nil
		case <-timer.C:
			return a, fmt.Errorf("no answer within %s", d.patience)
		}
	}
}

// A claim is what an implementation says of itself.
type claim struct {
	Implementation string   `json:"implementation"`
	Version        string   `json:"version"`
	Protocol       string   `json:"protocol"`
	Operations     []string `json:"operations"`

	Claims *suite.Claims `json:"claims,omitempty"` // pieces; missing: all
}

// describe asks what the implementation is and does.
func (d *driver) describe() (claim, error) {
	var c claim
	a, err := d.ask(suite.Hand{ID: "describe", Operation: "describe", Options: suite.Options{"protocol": "1"}})
	if err != nil {
		return c, err
	}
	raw, err := a.Output.Bytes()
	if err == nil {
		err = json.Unmarshal(raw, &c)
	}
	switch {
	case err != nil:
		return c, fmt.Errorf("the implementation does not describe itself: %w", err)
	case c.Protocol != "1":
		return c, fmt.Errorf("the implementation speaks protocol %q, and this is 1", c.Protocol)
	case c.Implementation == "" || len(c.Operations) == 0:
		return c, errors.New("the implementation does not say what it is and does")
	}
	d.can, d.claims = c.Operations, c.Claims
	return c, nil
}

// A trial is what came of one vector.
type trial struct {
	unclaimed   string   // what of it the implementation does not claim
	unsupported string   // what it says that it does not do
	faulty      string   // why the vector is withdrawn
	wrong       []string // what came out otherwise than expected
	said        []suite.Notice
}

// try runs one vector. An error says that the implementation does not answer, or not as the protocol has it.
func (d *driver) try(h suite.Hand, v *suite.Vector) (trial, error) {
	for _, s := range append([]suite.Step{{Operation: v.Operation}}, v.Then...) {
		if !slices.Contains(d.can, s.Operation) {
			return trial{unclaimed: "the operation " + s.Operation}, nil
		}
	}
	if lacks := d.claims.Lacks(v); lacks != "" {
		return trial{unclaimed: lacks}, nil
	}
	room, err := suite.NewRoom(v.Files)
	if err != nil {
		return trial{}, err
	}
	defer room.Close()
	if room != nil {
		h.Folder = room.Path
	}
	answers, unsupported, err := d.steps(h, v)
	if err != nil || unsupported != "" {
		return trial{unsupported: unsupported}, err
	}
	if len(answers) <= len(v.Then) && !v.Expect.Refused {
		r := answers[len(answers)-1].Refused
		return trial{wrong: []string{fmt.Sprintf("step %d is refused: %s %s", len(answers), r.Code, r.Message)}}, nil
	}
	if len(answers) <= len(v.Then) {
		return trial{wrong: []string{fmt.Sprintf("step %d is refused, and only the last was to be", len(answers))}}, nil
	}
	answers = d.claims.Only(answers)
	out := trial{wrong: append(d.claims.Of(v).Judge(answers), room.Judge(v.Expect.Files)...)}
	for _, a := range answers {
		out.said = append(out.said, a.Notices...)
	}
	return out, nil
}

// steps asks for the steps of a vector, one after the other, until one is refused.
func (d *driver) steps(h suite.Hand, v *suite.Vector) (answers []suite.Answer, unsupported string, err error) {
	for i := 0; ; i++ {
		a, err := d.ask(h)
		if err != nil || a.Unsupported != "" {
			return nil, a.Unsupported, err
		}
		answers = append(answers, a)
		if i == len(v.Then) || a.Refused != nil {
			return answers, "", nil
		}
		h = suite.Hand{ID: fmt.Sprintf("%s+%d", v.ID, i+1), Operation: v.Then[i].Operation, Options: v.Then[i].Options,
			Input: a.Output, Folder: h.Folder}
	}
}
