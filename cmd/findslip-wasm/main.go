//go:build js && wasm

// Command findslip-wasm is check, convert and read for a browser. It is built by
// examples/browser/build and started by examples/browser/findslip.mjs, which holds its types.
package main

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"syscall/js"
	"time"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/spreadsheet"
	"github.com/findslip/findslip/pkg/validate"
)

// request is what the wrapper asks for. Content comes beside it, as bytes.
type request struct {
	Do, Name, To, Kind string
	Texts              []string
	Options            options
}

// options are those of the command, by the names of its flags.
type options struct {
	Level, AsOf, From, DateOrder, Unit, System, Serial, Sheet, Encoding string
	Pivot                                                               int
	Plain                                                               bool
}

// main hands one function to JavaScript and waits for ever.
func main() {
	js.Global().Set("findslipAnswer", js.FuncOf(func(_ js.Value, args []js.Value) any {
		text, content, err := answer(args)
		if err != nil {
			return js.ValueOf(map[string]any{"error": err.Error()})
		}
		out := map[string]any{"text": text}
		if content != nil {
			array := js.Global().Get("Uint8Array").New(len(content))
			js.CopyBytesToJS(array, content)
			out["content"] = array
		}
		return js.ValueOf(out)
	}))
	js.Global().Call("findslipReady")
	select {}
}

// answer does what is asked and returns JSON, and bytes where a file is the answer.
func answer(args []js.Value) (text string, content []byte, err error) {
	var ask request
	if len(args) != 2 {
		return "", nil, fmt.Errorf("a request and its content are expected")
	}
	if err := json.Unmarshal([]byte(args[0].String()), &ask, json.MatchCaseInsensitiveNames(true)); err != nil {
		return "", nil, fmt.Errorf("the request cannot be read: %w", err)
	}
	o, err := ask.Options.pipeline()
	if err != nil {
		return "", nil, err
	}
	if ask.Do == "read" {
		text, err := read(ask, o.Read)
		return text, nil, err
	}
	input := make([]byte, args[1].Get("length").Int())
	js.CopyBytesToGo(input, args[1])
	o.FS = oneFile{ask.Name, input}
	var out bytes.Buffer
	var result *pipeline.Result
	switch ask.Do {
	case "check":
		result, err = pipeline.Check(context.Background(), ask.Name, o)
	case "convert":
		if o.To, err = pipeline.ParseFormat(ask.To); err != nil {
			return "", nil, err
		}
		o.Generator = tool
		result, err = pipeline.Convert(context.Background(), ask.Name, &out, o)
		content = out.Bytes()
	default:
		return "", nil, fmt.Errorf("%.40q is not check, convert or read", ask.Do)
	}
	if err != nil {
		return "", nil, err
	}
	var notices bytes.Buffer
	if err := render.JSON(&notices, result.Document(tool, o)); err != nil {
		return "", nil, err
	}
	return notices.String(), content, nil
}

const tool = "findslip " + find.Version

// read reads texts of one kind and returns a list of readings.
func read(ask request, o normalise.Options) (string, error) {
	one, err := normalise.Reader(ask.Kind, o)
	if err != nil {
		return "", err
	}
	list := []normalise.Reading{}
	for _, text := range ask.Texts {
		list = append(list, one(text))
	}
	b, err := json.Marshal(list, jsontext.AllowInvalidUTF8(true))
	return string(b), err
}

// pipeline returns the options as the pipeline has them.
func (o options) pipeline() (out pipeline.Options, err error) {
	if o.AsOf == "" {
		o.AsOf = time.Now().Format(time.DateOnly)
	}
	if o.Level == "" {
		o.Level = "log"
	}
	if out.Level, err = validate.ParseLevel(o.Level); err != nil {
		return out, fmt.Errorf("level: %w", err)
	}
	if out.Read.AsOf, err = edtf.ParseDay(o.AsOf); err != nil {
		return out, fmt.Errorf("asOf: %w", err)
	}
	if out.Read.Order, err = edtf.ParseOrder(o.DateOrder); err != nil {
		return out, fmt.Errorf("dateOrder %.40q is not dmy, mdy or ymd", o.DateOrder)
	}
	if out.Read.Serial, err = edtf.ParseEpoch(o.Serial); err != nil {
		return out, fmt.Errorf("serial %.40q is not 1900 or 1904", o.Serial)
	}
	if o.Unit != "" {
		if out.Read.Unit, err = quantity.ParseUnit(o.Unit); err != nil {
			return out, fmt.Errorf("unit %.40q is not one of mm, cm, m, in, ft, yd, mg, g, kg, gr, oz, ozt, dwt, lb", o.Unit)
		}
	}
	if o.System != "" {
		s, ok := coordinate.SystemByCode(o.System)
		if !ok {
			return out, fmt.Errorf("system %.40q is not a reference system that is known here, such as EPSG:27700", o.System)
		}
		out.Read.System = s.Code
	}
	if o.From != "" {
		if out.From, err = pipeline.ParseFormat(o.From); err != nil {
			return out, fmt.Errorf("from: %w", err)
		}
	}
	out.Read.Pivot, out.Plain = o.Pivot, o.Plain
	out.Table = spreadsheet.Options{Sheet: o.Sheet, Encoding: o.Encoding}
	return out, nil
}

// oneFile is a file system that holds one file in memory.
type oneFile struct {
	name    string
	content []byte
}

// Open opens the one file.
func (o oneFile) Open(name string) (fs.File, error) {
	if name != o.name {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &memoryFile{bytes.NewReader(o.content), o}, nil
}

// memoryFile is the one file, opened.
type memoryFile struct {
	*bytes.Reader
	file oneFile
}

// Stat tells name and size; the time is not known.
func (f *memoryFile) Stat() (fs.FileInfo, error) { return f, nil }

// Close does nothing.
func (f *memoryFile) Close() error { return nil }

// Name is the name of the file.
func (f *memoryFile) Name() string { return f.file.name }

// Size is the size of the whole file.
func (f *memoryFile) Size() int64 { return int64(len(f.file.content)) }

// Mode says that it is a regular file for reading.
func (f *memoryFile) Mode() fs.FileMode { return 0o444 }

// ModTime is the zero time.
func (f *memoryFile) ModTime() time.Time { return time.Time{} }

// IsDir says no.
func (f *memoryFile) IsDir() bool { return false }

// Sys is nothing.
func (f *memoryFile) Sys() any { return nil }
