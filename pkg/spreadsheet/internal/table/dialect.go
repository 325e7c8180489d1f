package table

import (
	"bytes"
	"fmt"
	"io"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// sepLine looks for a first line such as sep=; by which spreadsheets are told the separator. It
// returns the length of the line and the separator, or 0.
func sepLine(head []byte) (length int, comma byte) {
	end := bytes.IndexAny(head, "\r\n")
	length = end + 1
	switch {
	case end < 0:
		end, length = len(head), len(head)
	case head[end] == '\r' && end+1 < len(head) && head[end+1] == '\n':
		length++
	}
	line := head[:end]
	if n := len(line); n >= 2 && line[0] == '"' && line[n-1] == '"' {
		line = line[1 : n-1]
	}
	if len(line) != len("sep=;") || !bytes.EqualFold(line[:4], []byte("sep=")) || !isComma(rune(line[4])) {
		return 0, 0
	}
	return length, line[4]
}

// trial is how many records are looked at to find the separator.
const trial = 50

// candidates are the separators that are looked for, the most usual first.
var candidates = []byte{',', ';', '\t', '|'}

// findComma returns the separator that cuts most of the first records into the same number of fields,
// two at least; among equals the one that makes more fields. It says in words what it found.
func findComma(head []byte, complete bool) (comma byte, note string) {
	best, bestShare, bestFields := byte(','), 0.0, 1
	for _, c := range candidates {
		share, fields := constancy(head, complete, c)
		if share > bestShare || share == bestShare && fields > bestFields {
			best, bestShare, bestFields = c, share, fields
		}
	}
	if bestFields < 2 {
		return ',', "no separator was found, so the file was taken for one column"
	}
	if bestShare < 1 {
		return best, fmt.Sprintf("the separator was taken for %s: %.0f%% of the first records have %d fields with it",
			commaName(best), 100*bestShare, bestFields)
	}
	return best, fmt.Sprintf("the separator was taken for %s: the first records have %d fields with it", commaName(best),
		bestFields)
}

// sure is the share of the first records that must have one number of fields for it to be expected of all.
const sure = 0.6

// fieldsOf returns how many fields most records have, 0 if they have not.
func fieldsOf(head []byte, complete bool, comma byte) int {
	share, fields := constancy(head, complete, comma)
	if share < sure {
		return 0
	}
	return fields
}

// constancy returns how many of the first records, from 0 to 1, have the most frequent number of
// fields, and that number. It is 0 when most records have one field only.
func constancy(head []byte, complete bool, comma byte) (share float64, fields int) {
	limits := grid.Limits{}.WithDefaults()
	r := newRecords(bytes.NewReader(head), comma, limits)
	counts := make(map[int]int)
	total, last := 0, 0
	for total < trial {
		_, err := r.next()
		if err != nil {
			// The last record of an incomplete head is cut, and says nothing.
			if !complete && err == io.EOF && total > 1 {
				counts[last]--
				total--
			}
			break
		}
		if r.fields == 1 && r.blank {
			continue
		}
		last = r.fields
		counts[last]++
		total++
	}
	for n, times := range counts {
		if s := float64(times) / float64(max(1, total)); n > 1 && (s > share || s == share && n > fields) {
			share, fields = s, n
		}
	}
	return share, fields
}
