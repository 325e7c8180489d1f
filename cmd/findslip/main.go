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

// keepPace lets the garbage collector start whenever the heap has grown by about so much, however much
// is held. By itself it waits for a share of what is held: too often with a short file, and with a long
// one, of which much is remembered in large blocks that cost the collector nothing, so late that memory
// doubles.
func keepPace() {
	p := &pace{held: []metrics.Sample{{Name: "/gc/heap/live:bytes"}, {Name: "/gc/scan/heap:bytes"}}}
	p.set(gcRoom/4, 0)
	p.listen()
}

type pace struct {
	held    []metrics.Sample // in bytes: all, and what the collector looks through
	percent int
}

// beat is garbage; that it is collected tells that the collector has run.
type beat struct{ pace *pace }

func (p *pace) listen() {
	runtime.SetFinalizer(&beat{p}, func(b *beat) {
		metrics.Read(b.pace.held)
		if all, seen := b.pace.held[0].Value, b.pace.held[1].Value; all.Kind() == metrics.KindUint64 &&
			seen.Kind() == metrics.KindUint64 {
			b.pace.set(all.Uint64(), seen.Uint64())
		}
		b.pace.listen()
	})
}

// set sets the share of what is held that makes the room. Of what the collector looks through each time,
// such as notices, the room is at least a half, or the collector would do little else.
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
