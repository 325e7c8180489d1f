// Command findslip checks, normalises and converts find reports.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"syscall"
	"time"

	"github.com/findslip/findslip/pkg/pipeline"
)

func main() {
	os.Exit(process())
}

// patience is how long work that was told to stop may take to tidy up.
const patience = 5 * time.Second

// process runs the command as a process: a signal stops it, and a second one, or no end in good
// time, ends it at once. Either way nothing is left half written.
func process() int {
	signal.Ignore(syscall.SIGPIPE) // a reader that has gone is an error of writing, and is told
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	p := &program{in: os.Stdin, out: os.Stdout, err: os.Stderr, unfinished: new(pipeline.Unfinished)}
	if os.Getenv("GOGC") == "" {
		keepPace()
	}
	signals := make(chan os.Signal, 2)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	go func() {
		<-signals
		cancel()
		select {
		case <-signals:
		case <-time.After(patience):
		}
		p.unfinished.Remove()
		fmt.Fprintln(os.Stderr, "findslip: stopped; nothing was left half written")
		os.Exit(exitFailed)
	}()
	return p.run(ctx, os.Args[1:])
}

// gcRoom is by how many bytes the heap may grow before the garbage collector starts; where more than that is held,
// by less, down to 8 MiB, so that the memory for a long log is what is remembered of it.
const gcRoom = 32 << 20

// keepPace triggers the garbage collector by a fixed growth of the heap, not by a percentage of the live heap. The
// percentage collects too often with a short file; with a long one, much of which is held in large blocks without
// pointers, it collects so late that memory doubles.
func keepPace() {
	p := &pace{held: []metrics.Sample{{Name: "/gc/heap/live:bytes"}, {Name: "/gc/scan/heap:bytes"}}}
	p.set(gcRoom/4, 0)
	p.listen()
}

type pace struct {
	held    []metrics.Sample // in bytes: the live heap, and what of it the collector scans
	percent int
}

// cycle is garbage from the start: its finalizer runs after each collection.
type cycle struct{ pace *pace }

func (p *pace) listen() {
	runtime.SetFinalizer(&cycle{p}, func(c *cycle) {
		metrics.Read(c.pace.held)
		if all, seen := c.pace.held[0].Value, c.pace.held[1].Value; all.Kind() == metrics.KindUint64 &&
			seen.Kind() == metrics.KindUint64 {
			c.pace.set(all.Uint64(), seen.Uint64())
		}
		c.pace.listen()
	})
}

// set sets the GC percentage that gives the fixed growth. It is at least half of what the collector has to scan,
// such as notices, or the collector would do little else.
func (p *pace) set(live, seen uint64) {
	room := uint64(gcRoom)
	if held := live - min(live, room); held > 0 {
		room -= min(held/2, room-8<<20)
	}
	room = max(room, seen/2)
	percent := int(min(max(room*100/max(live, 1<<20), 5), 600))
	if off := percent - p.percent; off*10 > p.percent || -off*10 > p.percent {
		debug.SetGCPercent(percent)
		p.percent = percent
	}
}
