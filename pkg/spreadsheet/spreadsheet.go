// Package spreadsheet reads the logs that people keep in workbooks and CSV files, and writes find
// reports as such.
//
// Reading finds the headings by meaning, in six languages, and puts the text of each cell beside
// the field it belongs to, as it was written; it judges nothing. What no field understands is kept
// under its heading. Writing puts every field under a heading that reading takes for that field.
//
//	in, err := spreadsheet.DecodeXLSX(file, size, spreadsheet.Options{File: "season.xlsx"})
//
// This package is unstable: it may change between any two versions.
package spreadsheet

import (
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// Options steer reading. The zero value finds everything out by itself.
type Options struct {
	File     string            // name for messages
	Sheet    string            // name of the sheet with the finds; empty: "Finds", else the one that looks like it
	Encoding string            // of a CSV file; empty: found out
	Map      *ColumnMap        // what columns are to be taken for; nil: by their headings
	Order    edtf.Order        // of dates, where the column proves none
	Supplied bool              // Order is stated by the keeper of the log, which is marked in the find
	Defaults map[string]string // by flat name: what is stated of all finds where no column says it
	Pivot    int               // first year that two digits may mean
	Limits   limit.Limits      // zero: sane defaults
	// Headings are what headings that reading does not know are taken for: text to flat name.
	Headings map[string]string
}

const group = "conversion"

// Kinds of notice that reading gives.
var (
	headingUnknown   = &kinds.HeadingUnknown
	headingClaimed   = &kinds.HeadingClaimedTwice
	orderContradicts = &kinds.DateOrderContradicts
	cellError        = &kinds.CellError
	cellUnreadable   = &kinds.CellUnreadable
	cellBeside       = &kinds.CellKeptBeside
	nameFrom         = &kinds.HeadingTakenForName
	headingsJoined   = &kinds.HeadingsInTwoRows
	languageRead     = &kinds.LanguageWorkedOut
	headingsNone     = &kinds.HeadingsNotUnderstood
	headingsMissing  = &kinds.HeadingsMissing
	columnByContent  = &kinds.ColumnByContent
	dittoRead        = &kinds.DittoRead
	blanksFilled     = &kinds.BlankIsAbove
	sectionsRead     = &kinds.SectionRead
	totalDiffers     = &kinds.TotalDiffers
	findsInRow       = &kinds.FindsInRow
	tableOnSide      = &kinds.TableOnItsSide
	tableBeside      = &kinds.TableBeside
	tableSecond      = &kinds.TableSecond
	formulaUnworked  = &kinds.FormulaWithoutResult
	rowDoubtful      = &kinds.RowDoubtful
	notesLeft        = &kinds.NotesNotKept
	rowNotAFind      = &kinds.RowNotAFind
	rowHidden        = &kinds.RowHidden
	rowStruck        = &kinds.RowStruckThrough
	findersTwo       = &kinds.FindersTwo
	tallyRead        = &kinds.TallyRead
	yearTaken        = &kinds.YearTaken
	sheetHidden      = &kinds.SheetHidden
	sheetNotRead     = &kinds.SheetNotRead
	sheetBeside      = &kinds.SheetBeside
	cellsMerged      = &kinds.CellsMerged
	columnsHidden    = &kinds.ColumnsHidden
	tableNote        = &kinds.TableFormFound
	unitsRow         = &kinds.UnitsRowRead
	workbookParts    = &kinds.WorkbookPartsIgnored
)

// Kinds returns every kind of notice of this package.
func Kinds() []*notice.Kind {
	return []*notice.Kind{languageRead, headingsNone, headingsMissing, columnByContent, dittoRead, blanksFilled,
		sectionsRead,
		totalDiffers, findsInRow, tableOnSide, tableBeside, tableSecond,
		formulaUnworked, rowDoubtful, notesLeft,
		headingUnknown, headingClaimed, orderContradicts, cellError, cellUnreadable, cellBeside, nameFrom, headingsJoined,
		rowNotAFind, rowHidden, rowStruck, findersTwo, tallyRead, yearTaken,
		sheetHidden, sheetNotRead, sheetBeside, cellsMerged, columnsHidden, tableNote, unitsRow, workbookParts}
}
