package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/render"
)

func (p *program) readCommand() *cobra.Command {
	var in readingFlags
	var asJSON bool
	var asOf, language string
	c := described("read", &cobra.Command{
		ValidArgs: normalise.Readings(),
		Args:      needs(1, "a kind: "+strings.Join(normalise.Readings(), ", ")),
		RunE: func(_ *cobra.Command, args []string) error {
			o, err := in.options()
			if err != nil {
				return err
			}
			if asOf != "" {
				if o.AsOf, err = edtf.ParseDay(asOf); err != nil {
					return fmt.Errorf("--as-of %w", err)
				}
			}
			o.Language = language
			read, err := normalise.Reader(args[0], o)
			if err != nil {
				return err
			}
			out := bufio.NewWriter(p.out)
			failed := false
			one := func(text string) error {
				r := read(text)
				lookAgain(&r, args[0])
				failed = failed || r.Error != nil
				if asJSON {
					return writeJSONLine(out, r)
				}
				return writeReading(out, r)
			}
			if err := p.eachText(args[1:], one); err != nil {
				return err
			}
			if err := out.Flush(); err != nil {
				return err
			}
			if failed {
				return errNotices
			}
			return nil
		},
	}, "{names}", strings.Join(normalise.Readings(), ", "))
	in.add(c)
	c.SetFlagErrorFunc(minusFirst)
	c.Flags().StringVar(&asOf, "as-of", "", "the day that counts as today, such as 2026-04-12: later days are refused")
	c.Flags().StringVar(&language, "language", "", "language of the words, such as de, where that decides")
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON object a line")
	return c
}

// lookAgain says of a value what a check would say of it: a day that has not come yet, and 0 degrees by 0.
func lookAgain(r *normalise.Reading, kind string) {
	today := time.Now().Format(time.DateOnly)
	day := r.Date[:min(len(r.Date), len(today))]
	if len(day) == 7 && day[5:] > "20" { // a season
		day = day[:4]
	}
	if kind == "date" && day != "" && day[0]-'0' < 10 &&
		day > today[:len(day)] && !strings.ContainsAny(day, "~?%/") {
		r.Notices = append(r.Notices, normalise.ReadingNotice{Code: "date-future", Severity: "error",
			Message: "this day has not come yet"})
	}
	if kind == "position" && r.Latitude.Known() && r.Latitude.Float() == 0 && r.Longitude.Float() == 0 {
		r.Notices = append(r.Notices, normalise.ReadingNotice{Code: "null-island", Severity: "error",
			Message: "0 degrees by 0 is in the sea: devices write it where they have no position"})
	}
}

// eachText goes over the arguments, or the lines of standard input where there are none.
func (p *program) eachText(args []string, one func(string) error) error {
	for _, text := range args {
		if err := one(text); err != nil {
			return err
		}
	}
	if len(args) > 0 {
		return nil
	}
	most := p.limits.WithDefaults().CellLength
	lines := bufio.NewScanner(p.in)
	lines.Buffer(nil, int(min(most, 1<<30)))
	for lines.Scan() {
		if err := one(strings.TrimRight(lines.Text(), "\r")); err != nil {
			return err
		}
	}
	switch err := lines.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return fmt.Errorf("reading standard input: %w", limit.Over("cell", most))
	case err != nil:
		return fmt.Errorf("reading standard input: %w", err)
	}
	return nil
}

func writeJSONLine(w io.Writer, r normalise.Reading) error {
	b, err := json.Marshal(r, jsontext.AllowInvalidUTF8(true))
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "%s\n", render.CleanJSON(b))
	return err
}

func writeReading(w io.Writer, r normalise.Reading) error {
	if r.Error != nil {
		_, err := fmt.Fprintln(w, render.Clean(fmt.Sprintf("%s: not read: %s [%s]%s", r.Input, r.Error.Message, r.Error.Code,
			helpText(r.Error))))
		return err
	}
	text := r.Text
	for _, n := range r.Notices {
		text += fmt.Sprintf("  (%s: %s)", n.Severity, n.Message)
	}
	_, err := fmt.Fprintln(w, render.Clean(r.Input+": "+text))
	return err
}

// helpText says what may be meant and what to type instead.
func helpText(e *normalise.ReadingError) string {
	text := ""
	if len(e.Proposals) > 0 {
		text = "; perhaps: " + strings.Join(e.Proposals, ", or ")
	}
	if e.Help != "" {
		text += "; " + e.Help
	}
	return text
}

// minusFirst explains a text such as -8 in or -1.22 that was taken for a flag.
func minusFirst(c *cobra.Command, err error) error {
	if digit, ok := strings.CutPrefix(err.Error(), "unknown shorthand flag: '"); ok && digit != "" && digit[0] >= '0' &&
		digit[0] <= '9' {
		return fmt.Errorf("a text that begins with a minus sign is taken for a flag; write -- before the texts, as in %s "+
			"length -- '-8 in'", c.CommandPath())
	}
	return fmt.Errorf("%w; see %s --help", err, c.CommandPath())
}
