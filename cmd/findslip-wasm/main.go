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
	"syscall/js"

	"github.com/findslip/findslip/cmd/internal/desk"
)

func main() {
	at := new(desk.Desk)
	js.Global().Set("findslipAnswer", js.FuncOf(func(_ js.Value, args []js.Value) any {
		text, content, err := take(at, args)
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

// take unpacks what JavaScript hands over and does what is asked.
func take(at *desk.Desk, args []js.Value) (text string, content []byte, err error) {
	if len(args) < 2 {
		return "", nil, fmt.Errorf("a request and a list of files are expected")
	}
	if n := args[1].Length(); n > 0 {
		files := map[string][]byte{}
		for i := range n {
			one := args[1].Index(i)
			data := make([]byte, one.Get("bytes").Length())
			js.CopyBytesToGo(data, one.Get("bytes"))
			files[one.Get("name").String()] = data
		}
		if err := at.Lay(files); err != nil {
			return "", nil, err
		}
	}
	at.Progress = nil
	if len(args) > 2 && args[2].Type() == js.TypeFunction {
		at.Progress = func(finds, pass int) { args[2].Invoke(finds, pass) }
	}
	return at.Answer(context.Background(), []byte(args[0].String()))
}
