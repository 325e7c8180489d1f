package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"testing/iotest"
	"time"
)

func ask(t *testing.T, c *checker, method, accept string, body io.Reader) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(method, "/", body)
	if accept != "" {
		r.Header.Set("Accept", accept)
	}
	w := httptest.NewRecorder()
	c.ServeHTTP(w, r)
	return w
}

func season(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile("../thornmere/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestChecks(t *testing.T) {
	c := newChecker(limits{most: 8 << 20, time: time.Minute, atOnce: 1})
	for _, name := range []string{"season.xlsx", "season.csv", "season.findslip.json", "season.geojson"} {
		w := ask(t, c, http.MethodPost, "", bytes.NewReader(season(t, name)))
		var report struct {
			Summary struct{ Finds int }
			Notices []struct{ Code string }
		}
		if err := json.Unmarshal(w.Body.Bytes(), &report); err != nil || w.Code != http.StatusOK ||
			w.Header().Get("Content-Type") != "application/json" {
			t.Fatalf("%s: %d %v %s", name, w.Code, err, w.Body)
		}
		if report.Summary.Finds != 15 || len(report.Notices) == 0 {
			t.Errorf("%s: %d finds, %d notices", name, report.Summary.Finds, len(report.Notices))
		}
	}
	w := ask(t, c, http.MethodPost, "text/html,application/json;q=0.5", bytes.NewReader(season(t, "season.csv")))
	if w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") ||
		!strings.Contains(w.Body.String(), "</html>") {
		t.Errorf("no page: %d %s", w.Code, w.Header())
	}
	if w.Header().Get("Cache-Control") != "no-store" || !strings.HasPrefix(w.Header().Get("Content-Security-Policy"),
		"default-src 'none'") {
		t.Errorf("headers: %v", w.Header())
	}
}

func TestRefuses(t *testing.T) {
	small := newChecker(limits{most: 100, time: time.Minute, atOnce: 1})
	full := newChecker(limits{most: 8 << 20, time: time.Minute, atOnce: 1})
	full.places <- struct{}{}
	hasty := newChecker(limits{most: 8 << 20, time: 1, atOnce: 1}) // a nanosecond
	usual := newChecker(limits{most: 8 << 20, time: time.Minute, atOnce: 1})
	csv := season(t, "season.csv")
	for name, x := range map[string]struct {
		c              *checker
		method, accept string
		body           []byte
		want           int
	}{
		"too large": {small, http.MethodPost, "", csv, http.StatusRequestEntityTooLarge},
		"too many":  {full, http.MethodPost, "", csv, http.StatusServiceUnavailable},
		"too slow":  {hasty, http.MethodPost, "", csv, http.StatusServiceUnavailable},
		"GET":       {usual, http.MethodGet, "", nil, http.StatusMethodNotAllowed},
		"a picture": {usual, http.MethodPost, "image/png", csv, http.StatusNotAcceptable},
		"not JSON":  {usual, http.MethodPost, "application/json;q=0", csv, http.StatusNotAcceptable},
		"nothing":   {usual, http.MethodPost, "", nil, http.StatusUnprocessableEntity},
		"broken": {usual, http.MethodPost, "", []byte(`{"findslip": "1.0", "finds": [`),
			http.StatusUnprocessableEntity},
		"not a report": {usual, http.MethodPost, "", []byte("\x00\x01\x02"), http.StatusUnprocessableEntity},
	} {
		if w := ask(t, x.c, x.method, x.accept, bytes.NewReader(x.body)); w.Code != x.want {
			t.Errorf("%s: %d, want %d: %s", name, w.Code, x.want, w.Body)
		}
	}
	if w := ask(t, usual, http.MethodPost, "", bytes.NewReader(csv)); w.Code != http.StatusOK {
		t.Errorf("after refusals: %d", w.Code) // every place is free again
	}
}

// A file of a form is checked as its bytes alone are, whatever fields stand before it.
func TestForms(t *testing.T) {
	c := newChecker(limits{most: 8 << 20, time: time.Minute, atOnce: 1})
	c.now = func() time.Time { return time.Date(2026, 4, 12, 12, 0, 0, 0, time.UTC) }
	csv := season(t, "season.csv")
	post := func(fill func(*multipart.Writer) error) *httptest.ResponseRecorder {
		var form bytes.Buffer
		parts := multipart.NewWriter(&form)
		if err := fill(parts); err != nil {
			t.Fatal(err)
		}
		if err := parts.Close(); err != nil {
			t.Fatal(err)
		}
		r := httptest.NewRequest(http.MethodPost, "/", &form)
		r.Header.Set("Content-Type", parts.FormDataContentType())
		w := httptest.NewRecorder()
		c.ServeHTTP(w, r)
		return w
	}
	got := post(func(parts *multipart.Writer) error {
		if err := parts.WriteField("note", "from the gate"); err != nil {
			return err
		}
		part, err := parts.CreateFormFile("file", "season.csv")
		if err != nil {
			return err
		}
		_, err = part.Write(csv)
		return err
	})
	if want := ask(t, c, http.MethodPost, "", bytes.NewReader(csv)); got.Code != http.StatusOK ||
		got.Body.String() != want.Body.String() {
		t.Errorf("%d: %.300s", got.Code, got.Body)
	}
	if got := post(func(parts *multipart.Writer) error {
		return parts.WriteField("note",
			"no file")
	}); got.Code != http.StatusUnprocessableEntity {
		t.Errorf("a form without a file: %d %s", got.Code, got.Body)
	}
}

// Whoever sends slowly takes no place: others are answered meanwhile.
func TestSlowSendersWaitAlone(t *testing.T) {
	c := newChecker(limits{most: 8 << 20, time: time.Minute, atOnce: 1})
	slow, pen := io.Pipe()
	done := make(chan int)
	go func() {
		w := httptest.NewRecorder()
		c.ServeHTTP(w, httptest.NewRequest(http.MethodPost, "/", slow))
		done <- w.Code
	}()
	if _, err := io.WriteString(pen, "No,Find\n"); err != nil { // it is being read now
		t.Fatal(err)
	}
	if w := ask(t, c, http.MethodPost, "", bytes.NewReader(season(t, "season.csv"))); w.Code != http.StatusOK {
		t.Errorf("another sender: %d %s", w.Code, w.Body)
	}
	if _, err := io.WriteString(pen, "1,bell\n"); err != nil {
		t.Fatal(err)
	}
	pen.Close()
	if code := <-done; code != http.StatusOK {
		t.Errorf("the slow one: %d", code)
	}
}

// endless is a body that never ends; it counts what was taken of it.
type endless struct {
	text  string
	taken int64
}

func (e *endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = e.text[(e.taken+int64(i))%int64(len(e.text))]
	}
	e.taken += int64(len(p))
	return len(p), nil
}

// A body without an end is given up a little behind the limit, in whatever form it pretends to be.
func TestEndlessBodies(t *testing.T) {
	const most = 64 << 10
	c := newChecker(limits{most: most, time: time.Minute, atOnce: 1})
	for name, text := range map[string]string{
		"spaces": " ", "rows": "Number,Depth\n", "brackets": "[", "noughts": "\x00", "zip": "PK\x03\x04", "tags": "<gpx>",
		"one text": `{"findslip":"1.0` + strings.Repeat("x", 1<<20),
	} {
		body := &endless{text: text}
		w := ask(t, c, http.MethodPost, "", body)
		if w.Code != http.StatusRequestEntityTooLarge && w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d %.200s", name, w.Code, w.Body)
		}
		if body.taken > 2*most {
			t.Errorf("%s: %d bytes were read where %d may be", name, body.taken, most)
		}
	}
}

// Bodies that are broken, deep, cut off or of another kind are refused in words or answered with
// notices. None is an error of the server, and none takes the place of the next.
func TestHostileBodies(t *testing.T) {
	c := newChecker(limits{most: 8 << 20, time: time.Minute, atOnce: 1})
	xlsx, csv := season(t, "season.xlsx"), season(t, "season.csv")
	for name, body := range map[string][]byte{
		"half a workbook":  xlsx[:len(xlsx)/2],
		"damaged workbook": bytes.ReplaceAll(xlsx, []byte("sheet"), []byte("shret")),
		"deep":             []byte(`{"findslip":"1.0","finds":` + strings.Repeat("[", 1<<20)),
		"picture":          []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"),
		"entities": []byte(`<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><gpx ` +
			`version="1.1"><wpt lat="1" lon="1"><name>&b;</name></wpt></gpx>`),
		"no UTF-8":       []byte("{\"findslip\":\"\xff\xfe\"}"),
		"twice a member": []byte(`{"findslip":"1.0","findslip":"1.0","finds":[]}`),
		"null":           []byte("null"),
		"a number":       []byte("1e999999"),
		"a form":         []byte("--x\r\nContent-Disposition: form-data; name=\"file\"\r\n\r\nNumber\r\n--x--"),
		"quote":          []byte("Number,Depth\n\"1,8 in\n"),
	} {
		w := ask(t, c, http.MethodPost, "", bytes.NewReader(body))
		if w.Code != http.StatusOK && w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d %.200s", name, w.Code, w.Body)
		}
		if strings.Contains(w.Body.String(), "goroutine") || strings.Contains(w.Body.String(), ".go:") {
			t.Errorf("%s: the answer tells of the inside: %.300s", name, w.Body)
		}
		if w := ask(t, c, http.MethodPost, "", bytes.NewReader(csv)); w.Code != http.StatusOK {
			t.Fatalf("after %s: %d", name, w.Code)
		}
	}
	broken := io.MultiReader(bytes.NewReader(csv[:100]), iotest.ErrReader(errors.New("the line is dead")))
	if w := ask(t, c, http.MethodPost, "", broken); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a line that breaks: %d", w.Code)
	}
}

// The same answer comes whatever was asked before: nothing is kept.
func TestKeepsNothing(t *testing.T) {
	c := newChecker(limits{most: 8 << 20, time: time.Minute, atOnce: 1})
	c.now = func() time.Time { return time.Date(2026, 4, 12, 12, 0, 0, 0, time.UTC) }
	first := ask(t, c, http.MethodPost, "", bytes.NewReader(season(t, "season.csv"))).Body.String()
	ask(t, c, http.MethodPost, "", bytes.NewReader(season(t, "season.xlsx")))
	ask(t, c, http.MethodPost, "", strings.NewReader("[[["))
	if again := ask(t, c, http.MethodPost, "", bytes.NewReader(season(t, "season.csv"))).Body.String(); again != first {
		t.Error("the second answer is not the first")
	}
}

// A sender that stops in the middle is cut off by the server, and its place is free again. A sender
// whose request has been given up is no longer read for.
func TestSlowSenders(t *testing.T) {
	c := newChecker(limits{most: 8 << 20, time: time.Minute, atOnce: 1})
	server := httptest.NewUnstartedServer(c)
	server.Config = newServer("", c)
	server.Config.ReadTimeout = 200 * time.Millisecond
	server.Start()
	defer server.Close()
	line, err := net.Dial("tcp", server.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer line.Close()
	if _, err := io.WriteString(line, "POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 1000\r\n\r\nNumber,Depth\n"); err !=
		nil {
		t.Fatal(err)
	}
	answer, err := io.ReadAll(line) // ends because the server hangs up
	if err != nil || bytes.Contains(answer, []byte("200 OK")) {
		t.Errorf("half a body: %v %.300s", err, answer)
	}
	if w := ask(t, c, http.MethodPost, "", bytes.NewReader(season(t, "season.csv"))); w.Code != http.StatusOK {
		t.Errorf("after a slow sender: %d", w.Code)
	}
	gone, leave := context.WithCancel(context.Background())
	leave()
	r := httptest.NewRequestWithContext(gone, http.MethodPost, "/", bytes.NewReader(season(t, "season.csv")))
	w := httptest.NewRecorder()
	c.ServeHTTP(w, r)
	if w.Code != http.StatusServiceUnavailable {
		t.Errorf("a sender that has gone away: %d", w.Code)
	}
}

// The server that main starts has a limit for each thing a sender can draw out.
func TestServerHasLimits(t *testing.T) {
	s := newServer("localhost:0", http.NotFoundHandler())
	if s.ReadHeaderTimeout <= 0 || s.ReadTimeout <= 0 || s.WriteTimeout <= 0 || s.IdleTimeout <= 0 ||
		s.MaxHeaderBytes <= 0 {
		t.Errorf("something is without a limit: %+v", s)
	}
}

// A type that says it is no report is refused before a byte of the body is read.
func TestTypesOfBodies(t *testing.T) {
	c := newChecker(limits{most: 8 << 20, time: time.Minute, atOnce: 1})
	for kind, want := range map[string]int{
		// what curl says
		"": http.StatusOK, "text/csv; charset=utf-8": http.StatusOK, "application/octet-stream": http.StatusOK,
		"application/x-www-form-urlencoded": http.StatusOK,
		"image/png":                         http.StatusUnsupportedMediaType,
		"multipart/mixed; boundary=x":       http.StatusUnsupportedMediaType,
		"video/mp4":                         http.StatusUnsupportedMediaType,
	} {
		body := &countedReader{Reader: bytes.NewReader(season(t, "season.csv"))}
		r := httptest.NewRequest(http.MethodPost, "/", body)
		r.Header.Set("Content-Type", kind)
		w := httptest.NewRecorder()
		c.ServeHTTP(w, r)
		if w.Code != want || (want != http.StatusOK) != (body.calls == 0) {
			t.Errorf("%q: %d after %d reads, want %d: %.200s", kind, w.Code, body.calls, want, w.Body)
		}
	}
	r := httptest.NewRequest(http.MethodPost, "/", bytes.NewReader(season(t, "season.csv")))
	r.Header.Set("Content-Encoding", "gzip")
	w := httptest.NewRecorder()
	if c.ServeHTTP(w, r); w.Code != http.StatusUnsupportedMediaType {
		t.Errorf("a packed body: %d", w.Code)
	}
}

type countedReader struct {
	io.Reader
	calls int
}

func (c *countedReader) Read(p []byte) (int, error) {
	c.calls++
	return c.Reader.Read(p)
}
