//go:build js && wasm

// Command findslip-wasm is the program behind the page for browsers: cmd/findslip-page packs it, and
// examples/browser wraps it for other pages. JavaScript calls findslipAnswer(request, files, progress):
// a request as JSON, files as a list of {name, bytes} that replace those of the last call (an empty
// list keeps them), and a function that is told how many finds were read. The answer has text (JSON)
// and content (bytes of a file), or error.
package main

import (
	"context"
	"fmt"
	"io/fs"
	"syscall/js"
	"testing/fstest"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// request is what JavaScript asks for. Content comes beside it, as bytes.
type request struct {
	Do        string         // check, convert, mark, plan, propose, repair, template, share or read
	Name      string         // the file, as it was handed over
	To        string         // a format
	Kind      string         // of texts to read
	Texts     []string       // texts to read
	For       string         // an audience
	Receiver  string         // whoever the copy is for
	Lands     []string       // of a landowner, by name or local id
	Earlier   string         // where something finer was told before: go-on, again or withhold
	Register  string         // its lines; empty: a new one
	Columns   jsontext.Value // a column map
	Proposals jsontext.Value // with those accepted that a person agreed to
	Options   options
}

func main() {
	desk := new(desk)
	js.Global().Set("findslipAnswer", js.FuncOf(func(_ js.Value, args []js.Value) any {
		text, content, err := desk.take(args)
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

// A desk holds the files that lie open.
type desk struct {
	files    fstest.MapFS
	progress func(finds int)
}

// take unpacks what JavaScript hands over and does what is asked.
func (d *desk) take(args []js.Value) (text string, content []byte, err error) {
	if len(args) < 2 {
		return "", nil, fmt.Errorf("a request and a list of files are expected")
	}
	var ask request
	if err := json.Unmarshal([]byte(args[0].String()), &ask, json.MatchCaseInsensitiveNames(true)); err != nil {
		return "", nil, fmt.Errorf("the request cannot be read: %w", err)
	}
	if n := args[1].Length(); n > 0 {
		d.files = fstest.MapFS{}
		for i := range n {
			one := args[1].Index(i)
			data := make([]byte, one.Get("bytes").Length())
			js.CopyBytesToGo(data, one.Get("bytes"))
			name := one.Get("name").String()
			if !fs.ValidPath(name) {
				return "", nil, fmt.Errorf("%.40q is no name of a file", name)
			}
			d.files[name] = &fstest.MapFile{Data: data, Mode: 0o444}
		}
	}
	d.progress = func(int) {}
	if len(args) > 2 && args[2].Type() == js.TypeFunction {
		d.progress = func(finds int) { args[2].Invoke(finds) }
	}
	return d.answer(context.Background(), &ask)
}
