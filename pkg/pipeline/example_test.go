package pipeline_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing/fstest"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/share"
)

// season is a folder with one log of two finds, as any fs.FS can hold it.
func season() fstest.MapFS {
	return fstest.MapFS{"season.csv": {Data: []byte("No.,Find,Depth (in),Latitude,Longitude,Notes\n" +
		"1,button,8,52.50123,-1.25678,by the gate\n2,buckle,7-9,52.50131,-1.25702,\n")}}
}

// The finds of a file of any format, as they stand in it.
func ExampleOpen() {
	ctx := context.Background()
	in, err := pipeline.Open(ctx, "season.csv", pipeline.Options{FS: season()})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer in.Close()
	fmt.Println(in.Format)
	for e, err := range in.Stream.Entries {
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(e.Find.Number, e.Find.Name, e.Find.Depth.Verbatim)
	}
	// Output:
	// csv
	// 1 button 8
	// 2 buckle 7-9
}

// What each heading is taken for.
func ExampleColumns() {
	m, _, err := pipeline.Columns(context.Background(), "season.csv", pipeline.Options{FS: season()})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range m.Tables[0].Columns {
		fmt.Printf("%s %q: %s %q\n", c.Column, c.Heading, c.Field, c.Unit)
	}
	// Output:
	// A "No.": number ""
	// B "Find": name ""
	// C "Depth (in)": depth "in"
	// D "Latitude": position.latitude ""
	// E "Longitude": position.longitude ""
	// F "Notes": notes ""
}

// A copy for the public: the place is the middle of a square, and notes are withheld.
func ExampleShare() {
	o := pipeline.Options{FS: season(), To: pipeline.CSV, Plain: true}
	shared, err := pipeline.Share(context.Background(), "season.csv", o,
		pipeline.ShareOptions{Options: share.Options{Audience: share.Public}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(len(shared.Leaks), "leaks")
	err = shared.Copy.Each(context.Background(), func(f *find.Find) error {
		fmt.Println(f.Position.Latitude, f.Position.Longitude, f.Notes == "")
		return nil
	})
	if err != nil {
		fmt.Println(err)
	}
	// Output:
	// 0 leaks
	// 52.55 -1.25 true
	// 52.55 -1.25 true
}

// What of a log stands in a text that is to be published.
func ExampleLeakSearch() {
	o := pipeline.Options{FS: season(), Stdin: strings.NewReader("A button was found at 52.50123, -1.25678.")}
	search, err := pipeline.OpenLeaks(context.Background(), "season.csv", o)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer search.Close()
	looked, audience, err := search.Look(context.Background(), "-", share.Public)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, l := range looked.Leaks {
		fmt.Println(audience, l)
	}
	// Output: public position from /finds/0/position at byte 22
}

// What a format cannot hold of this very log.
func ExampleCheckLoss() {
	c, err := pipeline.CheckLoss(context.Background(), "season.csv", pipeline.Options{FS: season(), To: pipeline.GPX})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(len(c.Differences), "differences,", c.Unlisted(), "unexplained")
	// Output: 0 differences, 0 unexplained
}

// A hand-over, written and verified.
func ExamplePack() {
	ctx := context.Background()
	folder, err := os.MkdirTemp("", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	files := season()
	p, err := pipeline.Pack(ctx, "season.csv", pipeline.Options{FS: files, Files: files},
		pipeline.PackOptions{Name: "season"}, pipeline.ShareOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer p.Close()
	if err := p.WriteFolder(ctx, folder); err != nil {
		fmt.Println(err)
		return
	}
	u, err := new(pipeline.Unfinished).Unpack(ctx, filepath.Join(folder, "season"), "", limit.Limits{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(u.Reports, u.Finds, len(u.Problems))
	// Output: [data/report/season.findslip.json] 2 0
}

// Whoever reads never sees half of what was to be written.
func ExampleOutput() {
	var shown bytes.Buffer
	out := pipeline.Output{To: &shown}
	err := out.Write(func(w io.Writer) error {
		fmt.Fprint(w, "half of it")
		return io.ErrUnexpectedEOF
	})
	fmt.Println(err, shown.Len())
	// Output: unexpected EOF 0
}
