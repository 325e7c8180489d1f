package main

import (
	"bytes"
	"encoding/json"
	"io"
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
	c := newChecker(limits{body: 8 << 20, time: time.Minute, atOnce: 1})
	for _, name := range []string{"season.xlsx", "season.csv", "season.findslip.json", "season.geojson"} {
		w := ask(t, c, http.MethodPost, "", bytes.NewReader(season(t, name)))
		var report struct {
			Summary struct{ Finds int }
			Notices []struct{ Code string }
		}
		if err := json.Unmarshal(w.Body.Bytes(), &report); err != nil || w.Code != http.StatusOK || w.Header().Get("Content-Type") != "application/json" {
			t.Fatalf("%s: %d %v %s", name, w.Code, err, w.Body)
		}
		if report.Summary.Finds != 15 || len(report.Notices) == 0 {
			t.Errorf("%s: %d finds, %d notices", name, report.Summary.Finds, len(report.Notices))
		}
	}
	w := ask(t, c, http.MethodPost, "text/html,application/json;q=0.5", bytes.NewReader(season(t, "season.csv")))
	if w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") || !strings.Contains(w.Body.String(), "</html>") {
		t.Errorf("no page: %d %s", w.Code, w.Header())
	}
	if w.Header().Get("Cache-Control") != "no-store" || !strings.HasPrefix(w.Header().Get("Content-Security-Policy"), "default-src 'none'") {
		t.Errorf("headers: %v", w.Header())
	}
}

func TestRefuses(t *testing.T) {
	small := newChecker(limits{body: 100, time: time.Minute, atOnce: 1})
	full := newChecker(limits{body: 8 << 20, time: time.Minute, atOnce: 1})
	full.places <- struct{}{}
	hasty := newChecker(limits{body: 8 << 20, time: 1, atOnce: 1}) // a nanosecond
	usual := newChecker(limits{body: 8 << 20, time: time.Minute, atOnce: 1})
	csv := season(t, "season.csv")
	for name, x := range map[string]struct {
		c              *checker
		method, accept string
		body           []byte
		want           int
	}{
		"too large":    {small, http.MethodPost, "", csv, http.StatusRequestEntityTooLarge},
		"too many":     {full, http.MethodPost, "", csv, http.StatusServiceUnavailable},
		"too slow":     {hasty, http.MethodPost, "", csv, http.StatusServiceUnavailable},
		"GET":          {usual, http.MethodGet, "", nil, http.StatusMethodNotAllowed},
		"a picture":    {usual, http.MethodPost, "image/png", csv, http.StatusNotAcceptable},
		"not JSON":     {usual, http.MethodPost, "application/json;q=0", csv, http.StatusNotAcceptable},
		"nothing":      {usual, http.MethodPost, "", nil, http.StatusUnprocessableEntity},
		"broken":       {usual, http.MethodPost, "", []byte(`{"findslip": "1.0", "finds": [`), http.StatusUnprocessableEntity},
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
