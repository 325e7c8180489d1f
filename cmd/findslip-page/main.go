// Command findslip-page makes findslip.html: one file that holds the page and the program, to be opened
// by a double click. No server is needed, and the page can reach none.
//
//	go run ./cmd/findslip-page -o findslip.html
//	go run ./cmd/findslip-page -folder site
//
// With -folder it writes the same page as index.html with what a browser needs to keep it as an app
// that works without a network; any web server that serves files can then serve it.
package main

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"github.com/go-json-experiment/json"
)

//go:embed page
var parts embed.FS

func main() {
	out := flag.String("o", "", "file to write, such as findslip.html")
	folder := flag.String("folder", "", "folder to write the page into, as an app to be served")
	flag.Parse()
	if err := run(*out, *folder); err != nil {
		fmt.Fprintln(os.Stderr, "findslip-page:", err)
		os.Exit(2)
	}
}

func run(out, folder string) error {
	if (out == "") == (folder == "") {
		return fmt.Errorf("give -o FILE or -folder FOLDER")
	}
	program, err := program()
	if err != nil {
		return err
	}
	runtime, err := goRuntime()
	if err != nil {
		return err
	}
	if out != "" {
		page, err := page(program, runtime, false)
		if err != nil {
			return err
		}
		return os.WriteFile(out, page, 0o644)
	}
	page, err := page(program, runtime, true)
	if err != nil {
		return err
	}
	return writeFolder(folder, page)
}

// inlined are the packages in which functions are inlined; elsewhere it makes the program larger and nothing faster.
var inlined = [...]string{"runtime", "internal/...", "github.com/go-json-experiment/...", "github.com/findslip/...",
	"strings", "bytes", "strconv", "unicode/...", "slices", "maps", "sort", "bufio", "compress/...", "hash/...",
	"math", "math/...", "sync/...", "cmp", "encoding/csv", "reflect"}

// program builds the program for browsers and returns it packed.
func program() ([]byte, error) {
	folder, err := os.MkdirTemp("", "findslip-page")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	file := filepath.Join(folder, "findslip.wasm")
	overlay := filepath.Join(folder, "overlay.json")
	if err := writeOverlay(overlay); err != nil {
		return nil, err
	}
	flags := []string{"build", "-overlay", overlay, "-trimpath", "-buildvcs=false", "-ldflags", "-s -w", "-gcflags=all=-l"}
	for _, hot := range inlined {
		flags = append(flags, "-gcflags="+hot+"=")
	}
	build := exec.Command("go", append(flags, "-o", file, "github.com/findslip/findslip/cmd/findslip-wasm")...)
	build.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS=js", "GOARCH=wasm")
	build.Stderr = os.Stderr
	if err := build.Run(); err != nil {
		return nil, fmt.Errorf("building the program: %w", err)
	}
	raw, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return zipped(raw)
}

func zipped(raw []byte) ([]byte, error) {
	var packed bytes.Buffer
	w, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(raw); err != nil {
		return nil, err
	}
	err = w.Close()
	return packed.Bytes(), err
}

// writeOverlay leaves of net/http only what tells the kind of a picture by its bytes: the library for workbooks asks
// that and nothing more, and the rest brings the whole of TLS into a page that can reach nobody.
func writeOverlay(file string) error {
	root, err := goRoot()
	if err != nil {
		return err
	}
	sources, err := filepath.Glob(filepath.Join(root, "src", "net", "http", "*.go"))
	if err != nil {
		return err
	}
	var overlay struct{ Replace map[string]string }
	overlay.Replace = map[string]string{}
	for _, source := range sources {
		if filepath.Base(source) != "sniff.go" {
			overlay.Replace[source] = "" // as if it were not there
		}
	}
	text, err := json.Marshal(overlay)
	if err != nil {
		return err
	}
	return os.WriteFile(file, text, 0o600)
}

// goRuntime returns the script that Go ships for programs in browsers.
func goRuntime() (string, error) {
	root, err := goRoot()
	if err != nil {
		return "", err
	}
	b, err := os.ReadFile(filepath.Join(root, "lib", "wasm", "wasm_exec.js"))
	return string(b), err
}

func goRoot() (string, error) {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return "", fmt.Errorf("go env GOROOT: %w", err)
	}
	return strings.TrimSpace(string(root)), nil
}

// page puts the parts together. The policy of the page allows the one script by its digest and no
// connection, form, frame of another address or peer; a served page may load its own manifest and
// keep itself.
func page(program []byte, runtime string, served bool) ([]byte, error) {
	text := func(name string) (string, error) {
		b, err := parts.ReadFile("page/" + name)
		return strings.ReplaceAll(string(b), "\r\n", "\n"), err
	}
	var missing error
	need := func(name string) string {
		s, err := text(name)
		if err != nil {
			missing = err
		}
		return s
	}
	short := func(text string) string {
		b, err := zipped([]byte(text))
		if err != nil {
			missing = err
		}
		return base64.StdEncoding.EncodeToString(b)
	}
	script := ascii(bare(strings.Replace(need("page.js"), "{{steps}}\n", need("steps.js"), 1)), `\u%04x`)
	digest := sha256.Sum256([]byte(script))
	policy := "default-src 'none'; script-src 'sha256-" + base64.StdEncoding.EncodeToString(digest[:]) +
		"' 'wasm-unsafe-eval'; worker-src blob:; style-src 'unsafe-inline'; img-src data: blob:; connect-src 'none'; " +
		"form-action 'none'; base-uri 'none'; webrtc 'block'"
	head, charset, packed := "", "windows-1252", asText(program)
	if served {
		policy = strings.Replace(policy, "worker-src blob:", "worker-src blob: 'self'; manifest-src 'self'", 1)
		charset, packed = "utf-8", base64.StdEncoding.EncodeToString(program)
		head = `<link rel="manifest" href="manifest.webmanifest">`
	}
	whole := strings.NewReplacer(
		"{{charset}}", charset,
		"{{policy}}", policy,
		"{{head}}", head,
		"{{style}}", ascii(need("page.css"), `\%x `),
		"{{words}}", short(need("words.json")),
		"{{worker}}", short(runtime+"\n"+need("worker.js")),
		"{{program}}", packed,
		"{{script}}", script,
	).Replace(ascii(need("page.html"), "&#x%x;"))
	return []byte(whole), missing
}

// escaped are the letters that text in a page cannot hold as they are, and escape, which stands before their place in
// this list.
const escaped = "\x00\r<" + escape

const escape = "\x1b"

// asText writes bytes as the letters of windows-1252, of which every byte is one: a sixtieth larger than the bytes,
// where base64 is a third larger. A page that is opened from disk is in that encoding for it; one that is served is
// not, for a server may say that it is in another. No letter of it can open or end an element.
func asText(b []byte) string {
	var out strings.Builder
	out.Grow(len(b) + len(b)/32)
	for _, c := range b {
		if i := strings.IndexByte(escaped, c); i >= 0 {
			out.WriteString(escape)
			c = byte('0' + i)
		}
		out.WriteByte(c)
	}
	return out.String()
}

// bare leaves out the indents of a script and its lines of comment. No text in it goes over a line.
func bare(script string) string {
	var out strings.Builder
	for line := range strings.Lines(script) {
		if line = strings.TrimLeft(line, " "); !strings.HasPrefix(line, "//") {
			out.WriteString(line)
		}
	}
	return out.String()
}

// ascii writes letters beyond ASCII by their numbers, so that a text is the same in every encoding.
func ascii(text, form string) string {
	var out strings.Builder
	for _, r := range text {
		if r < 0x80 {
			out.WriteRune(r)
		} else {
			fmt.Fprintf(&out, form, r)
		}
	}
	return out.String()
}

// writeFolder writes the page as an app: with a manifest, and a worker that keeps it for when there is
// no network. What is kept is the program alone, never a log.
func writeFolder(folder string, page []byte) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	digest := sha256.Sum256(page)
	keeper, err := parts.ReadFile("page/keep.js")
	if err != nil {
		return err
	}
	manifest, err := parts.ReadFile("page/manifest.webmanifest")
	if err != nil {
		return err
	}
	icon, err := parts.ReadFile("page/icon.svg")
	if err != nil {
		return err
	}
	for name, content := range map[string][]byte{
		"index.html":           page,
		"manifest.webmanifest": manifest,
		"icon.svg":             icon,
		"keep.js":              bytes.ReplaceAll(keeper, []byte("{{version}}"), fmt.Appendf(nil, "%x", digest[:8])),
	} {
		if err := os.WriteFile(filepath.Join(folder, name), content, 0o644); err != nil {
			return err
		}
	}
	return nil
}
