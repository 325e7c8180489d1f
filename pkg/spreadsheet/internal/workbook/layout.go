package workbook

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// readPanes reads how much of the sheet is frozen.
func (r *sheetReader) readPanes() error {
	for depth := r.depth(); ; {
		if ok, err := r.child(depth); !ok || err != nil {
			return err
		}
		err := readList(r.scanner, "pane", func(attributes map[string]string) {
			if state := attributes["state"]; state == "frozen" || state == "frozenSplit" {
				r.layout.FrozenColumns = count(attributes["xSplit"], grid.MaxColumns)
				r.layout.FrozenRows = count(attributes["ySplit"], grid.MaxRows)
			}
		})
		if err != nil {
			return err
		}
	}
}

// count reads a count, which stands in the file as a number with or without decimals; anything
// else is zero.
func count(s string, most int) int {
	value, err := strconv.ParseFloat(s, 64)
	if err != nil || !(value >= 0 && value <= float64(most)) {
		return 0
	}
	return int(value)
}

// readColumns reads which columns are hidden.
func (r *sheetReader) readColumns() error {
	// changes holds, for each column, how many hidden stretches begin and end there, so a file that
	// names the same columns over and over costs no more than its length.
	changes := make([]int, grid.MaxColumns+2)
	err := readList(r.scanner, "col", func(attributes map[string]string) {
		if !isTrue([]byte(attributes["hidden"])) {
			return
		}
		first, last := count(attributes["min"], grid.MaxColumns), count(attributes["max"], grid.MaxColumns)
		if first = max(1, first); first <= last {
			changes[first]++
			changes[last+1]--
		}
	})
	open := 0
	for column := 1; column <= grid.MaxColumns; column++ {
		if open += changes[column]; open > 0 {
			r.layout.HiddenColumns = append(r.layout.HiddenColumns, column)
		}
	}
	return err
}

// maxMerged is the number of merged ranges that a sheet may have.
const maxMerged = 1 << 20

// readMerged reads the merged ranges.
func (r *sheetReader) readMerged() error {
	var bad error
	err := readList(r.scanner, "mergeCell", func(attributes map[string]string) {
		merged, err := grid.ParseRange(attributes["ref"])
		if err != nil {
			bad = fmt.Errorf("a merged range is wrong: %w", err)
			return
		}
		if len(r.layout.Merged) >= maxMerged {
			bad = fmt.Errorf("the sheet has more than %d merged ranges", maxMerged)
			return
		}
		r.layout.Merge(merged)
	})
	if err == nil {
		err = bad
	}
	return err
}

// sort puts the cells of a row in order that a careless program wrote out of order, and refuses a
// cell that is there twice.
func (r *sheetReader) sort() error {
	slices.SortFunc(r.cells, func(a, b grid.Cell) int { return a.Column - b.Column })
	for i := 1; i < len(r.cells); i++ {
		if r.cells[i].Column == r.cells[i-1].Column {
			return fmt.Errorf("cell %s is there twice: the file is damaged", r.cells[i].Ref(r.row))
		}
	}
	return nil
}
