package validate

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

// longestOuting is the hours from start to end beyond which the two are taken for exchanged or mistyped.
const longestOuting = 16

var hoursImpossible = &Rule{
	Kind:  kinds.HoursImpossible,
	Check: func(c *Case, say Say) { hoursIn(c.Find.Columns, "/columns", say) },
	Header: func(c *Case, say Say) {
		for i := range c.Report.Outings {
			o := &c.Report.Outings[i]
			at := fmt.Sprintf("/outings/%d", i)
			if o.Hours.Known() && o.Hours.Float() > 24 {
				say(at+"/hours", hoursWords(o.Hours.String()))
			}
			if start, end, ok := outingHours(o); ok && tooLong(start.minute, end.minute) {
				say(at+"/end", endWords(o.Start, o.End))
			}
			hoursIn(o.Columns, at+"/columns", say)
		}
	},
}

func hoursWords(n string) string { return n + " hours are more than a day has" }

func endWords(start, end string) string {
	return fmt.Sprintf("the end, %s, lies before the start, %s", end, start)
}

func tooLong(start, end int) bool { return sinceMidnight(end-start) > longestOuting*60 }

// hoursIn looks through columns that no field understands for hours and for start and end.
func hoursIn(columns map[string]string, at string, say Say) {
	if len(columns) == 0 {
		return
	}
	care := theTables().care
	var begun, begin, ended, end string
	var few [16]string
	for _, heading := range find.SortedKeys(few[:0], columns) {
		is := func(group string) bool {
			_, n := care[group].At(heading)
			return n > 0 && n == len(strings.Fields(heading))
		}
		text := strings.TrimSpace(columns[heading])
		switch {
		case is("hours"):
			number := strings.TrimSpace(strings.TrimRight(strings.ToLower(strings.Replace(text, ",", ".", 1)), "hrstud. "))
			if n, err := strconv.ParseFloat(number, 64); err == nil && n > 24 {
				say(at+"/"+notice.Escape(heading), hoursWords(text))
			}
		case is("begin"):
			begun, begin = heading, text
		case is("end"):
			ended, end = heading, text
		}
	}
	if begun == "" || ended == "" {
		return
	}
	start, ok1 := clockWritten(begin)
	stop, ok2 := clockWritten(end)
	if ok1 && ok2 && tooLong(start, stop) {
		say(at+"/"+notice.Escape(ended), endWords(begin, end))
	}
}

// clockWritten reads a time of the day in 24 hours, as 9:30 or 13.40, in minutes.
func clockWritten(text string) (minutes int, ok bool) {
	h, m, two := strings.Cut(strings.Replace(text, ".", ":", 1), ":")
	hour, err1 := strconv.Atoi(h)
	minute, err2 := strconv.Atoi(m)
	return hour*60 + minute, two && len(m) == 2 && err1 == nil && err2 == nil && hour < 24 && minute < 60
}
