// Command http is an example of a service that checks reports of finds. It keeps nothing: neither
// what it is sent nor what it answers, and it logs neither. Put it behind a server that does TLS.
//
//	curl --data-binary @season.xlsx -H 'Accept: application/json' http://localhost:8080/
package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log"
	"mime"
	"mime/multipart"
	"net/http"
	"strings"
	"time"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
)

// limits of the service.
type limits struct {
	most   int64         // bytes of a body, which is held in memory
	time   time.Duration // that one check may take
	atOnce int           // checks at one time; more are sent away
}

// checker answers a POST of a report, in any format, with its notices as JSON or as a page.
type checker struct {
	limits
	places chan struct{}
	now    func() time.Time
}

func newChecker(l limits) *checker {
	return &checker{limits: l, places: make(chan struct{}, l.atOnce), now: time.Now}
}

// ServeHTTP checks the body of a request. Data with faults is still answered with 200: the notices are
// the answer. Only a body that cannot be read is the sender's error.
func (c *checker) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	head := w.Header()
	head.Set("Cache-Control", "no-store")
	head.Set("X-Content-Type-Options", "nosniff")
	head.Set("Vary", "Accept")
	if r.Method != http.MethodPost {
		head.Set("Allow", http.MethodPost)
		http.Error(w, "POST a report of finds: XLSX, CSV, JSON, JSON Lines, GeoJSON, GPX or KML", http.StatusMethodNotAllowed)
		return
	}
	kind, write := form(r.Header.Get("Accept"))
	if write == nil {
		http.Error(w, "there is application/json and text/html", http.StatusNotAcceptable)
		return
	}
	name, body, err := c.body(w, r)
	if err != nil {
		status, words := refusal(err)
		http.Error(w, words, status)
		return
	}
	// A place is taken when the whole body is in: who sends slowly keeps nobody else waiting.
	select {
	case c.places <- struct{}{}:
		defer func() { <-c.places }()
	default:
		head.Set("Retry-After", "10")
		http.Error(w, "too many checks at one time: try again in a little while", http.StatusServiceUnavailable)
		return
	}
	ctx, stop := context.WithTimeout(r.Context(), c.time)
	defer stop()
	o := pipeline.Options{Stdin: bytes.NewReader(body), From: pipeline.FormatOfName(name)}
	if o.Read.AsOf, err = edtf.ParseDay(c.now().Format(time.DateOnly)); err != nil {
		http.Error(w, "the clock of this server is wrong", http.StatusInternalServerError)
		return
	}
	result, err := pipeline.Check(ctx, "-", o)
	if err != nil {
		status, words := refusal(err)
		http.Error(w, words, status)
		return
	}
	var page bytes.Buffer // an answer is whole or an error
	if err := write(&page, result.Document("findslip", o)); err != nil {
		http.Error(w, "the answer could not be written", http.StatusInternalServerError)
		return
	}
	head.Set("Content-Type", kind)
	if strings.HasPrefix(kind, "text/html") {
		head.Set("Content-Security-Policy",
			"default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'")
	}
	_, _ = page.WriteTo(w) // whoever has gone away needs no answer
}

// errKind says that a body is of a kind that is not read.
var errKind = errors.New("send the bytes of the file, alone or as a file of a form, and not packed: curl " +
	"--data-binary @season.xlsx, or curl -F file=@season.xlsx")

// body returns the report that a request holds, and the name of its file where a form says it. The bytes decide
// what it is; the type that curl gives to everything says nothing.
func (c *checker) body(w http.ResponseWriter, r *http.Request) (name string, body []byte, err error) {
	if packed := r.Header.Get("Content-Encoding"); packed != "" && !strings.EqualFold(packed, "identity") {
		return "", nil, errKind
	}
	from := io.Reader(http.MaxBytesReader(w, r.Body, c.most))
	kind, params, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	switch family, _, _ := strings.Cut(kind, "/"); {
	case kind == "multipart/form-data":
		parts := multipart.NewReader(from, params["boundary"])
		for {
			part, err := parts.NextPart()
			if errors.Is(err, io.EOF) {
				return "", nil, errNoFile
			}
			if err != nil {
				return "", nil, err
			}
			if part.FileName() != "" { // the first file; other fields of the form are passed over
				body, err = io.ReadAll(part)
				return part.FileName(), body, err
			}
		}
	case err != nil && r.Header.Get("Content-Type") != "", family != "" && family != "text" && family != "application":
		return "", nil, errKind
	}
	body, err = io.ReadAll(from)
	return "", body, err
}

// errNoFile says that a form holds no file.
var errNoFile = errors.New("there is no file in the form")

// form returns the form of the answer; nothing asked for is JSON.
func form(accept string) (kind string, write func(io.Writer, render.Document) error) {
	if accept == "" {
		accept = "*/*"
	}
	for part := range strings.SplitSeq(accept, ",") {
		name, weight, _ := strings.Cut(part, ";")
		if strings.ReplaceAll(weight, " ", "") == "q=0" {
			continue
		}
		switch strings.TrimSpace(name) {
		case "application/json", "application/*", "*/*":
			return "application/json", render.JSON
		case "text/html", "text/*":
			return "text/html; charset=utf-8", render.HTML
		}
	}
	return "", nil
}

// refusal turns an error of reading into a status and words for the sender.
func refusal(err error) (int, string) {
	var tooLarge *http.MaxBytesError
	switch {
	case errors.Is(err, errKind):
		return http.StatusUnsupportedMediaType, err.Error()
	case errors.As(err, &tooLarge):
		return http.StatusRequestEntityTooLarge, "the report is too large for this service"
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		return http.StatusServiceUnavailable, "the check took too long and was stopped"
	}
	return http.StatusUnprocessableEntity, err.Error()
}

func main() {
	server := newServer("localhost:8080", newChecker(limits{most: 8 << 20, time: 20 * time.Second, atOnce: 4}))
	log.Printf("listening on %s", server.Addr)
	log.Fatal(server.ListenAndServe())
}

// newServer returns a server with a limit for each thing that a sender can draw out.
func newServer(address string, handler http.Handler) *http.Server {
	return &http.Server{
		Addr: address, Handler: handler, MaxHeaderBytes: 16 << 10,
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second, WriteTimeout: 60 * time.Second,
		IdleTimeout: 60 * time.Second,
	}
}
