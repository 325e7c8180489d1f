package main

import (
	"bytes"
	"encoding/json"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
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
