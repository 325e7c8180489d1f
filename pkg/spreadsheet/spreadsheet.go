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
	headingUnknown = &notice.Kind{Code: "heading-unknown", Severity: notice.Info, Group: group, Spec: "8.4",
		Title:  "a column that no field understands",
		Why:    "its text is kept under its heading, but nobody can check it",
		Help:   "Rename the heading, or say what it is in a column map: findslip columns FILE -o map.json.",
		Source: "our proposal", Before: "Wether", After: "Notes"}
	headingClaimed = &notice.Kind{Code: "heading-claimed-twice", Severity: notice.Warning, Group: group, Spec: "8.4",
		Title:  "two columns claim one field",
		Why:    "only one can be right; the other is kept under its heading",
		Help:   "Rename one of the two headings, or say in a column map which it is.",
		Source: "our proposal", Before: "Depth | Depth", After: "Depth | Detector depth"}
	orderContradicts = &notice.Kind{Code: "date-order-contradicts", Severity: notice.Warning, Group: group, Spec: "4.3",
		Title:  "one column holds dates in two orders",
		Why:    "some have the day first and some the month; those that could be either cannot be told",
		Help:   "Write the dates as 2026-04-12, or correct those in the wrong order.",
		Source: "common practice, no source", Before: "25/12/2025 and 12/25/2025 in one column", After: "2025-12-25"}
	cellError = &notice.Kind{Code: "cell-error", Severity: notice.Warning, Group: group, Spec: "8.5",
		Title: "a formula that failed",
		Why:   "the cell holds an error instead of a value", Help: "Type the value itself.",
		Source: "common practice, no source", Before: "#REF!", After: "20 cm"}
	cellUnreadable = &notice.Kind{Code: "cell-unreadable", Severity: notice.Error, Group: group, Spec: "8.4",
		Title:  "a cell that does not fit its column",
		Why:    "the column holds canonical values; the text is kept under its heading",
		Help:   "Write a plain number, or true or false, as the column asks.",
		Source: "our proposal", Before: "depth.min [cm]: deep", After: "depth.min [cm]: 20.32"}
	cellBeside = &notice.Kind{Code: "cell-kept-beside", Severity: notice.Info, Group: group, Spec: "8.4",
		Title:  "a cell that says a place once more",
		Why:    "one column has the words of the position, and this one is no number to stand beside them",
		Help:   "Compare the two, and keep the one that is right.",
		Source: "our proposal", Before: "Grid ref | Easting: SP 5270 9011 | 452700", After: "Grid ref: SP 5270 9011"}
	nameFrom = &notice.Kind{Code: "heading-taken-for-name", Severity: notice.Info, Group: group, Spec: "8.4",
		Title:  "a column that is taken for the name of the find",
		Why:    "no other column has the finder's words for the object",
		Help:   "Nothing to do, if it says what was found; else rename the heading, or say what it is in a column map.",
		Source: "our proposal", Before: "No | Description | Depth", After: "No | Find | Depth"}
	headingsJoined = &notice.Kind{Code: "headings-in-two-rows", Severity: notice.Info, Group: group, Spec: "8.4",
		Title:  "headings that stand in two rows",
		Why:    "the upper names a group of columns, often in merged cells; both are read as one heading",
		Help:   "Nothing to do; findslip columns shows what each was taken for.",
		Source: "our proposal", Before: "Where over Parish and Field", After: "Parish | Field"}
	languageRead = &notice.Kind{Code: "language-worked-out", Severity: notice.Info, Group: group, Spec: "14",
		Title:  "the language of the log, by its headings",
		Why:    "nobody has stated it; it chooses headings and marks, and decides no value that another language reads otherwise",
		Help:   "If it is wrong, state it: --log-language de, or in the settings of the log.",
		Source: "our proposal", Before: "Find | Depth | Date found", After: "read as English"}
	headingsNone = &notice.Kind{Code: "headings-not-understood", Severity: notice.Error, Group: group, Spec: "8.4",
		Title:  "no heading that is understood",
		Why:    "the columns do not say what they are, and their texts are kept under their headings",
		Help:   "Put a row of headings on top: Number, Date, Field, Find, Depth, Grid reference, Notes. Or write the plan with findslip columns FILE -o plan.json, fill in the fields, and give it back with --columns plan.json.",
		Source: "our proposal", Before: "a sheet in a language that is not known", After: "a plan that names the fields"}
	headingsMissing = &notice.Kind{Code: "headings-missing", Severity: notice.Warning, Group: group, Spec: "8.4",
		Title:  "a sheet without headings",
		Why:    "its columns are taken by what stands in them, which may be wrong",
		Help:   "Put a row of headings on top: Number, Date, Field, Find, Depth, Grid reference, Notes.",
		Source: "our proposal", Before: "3/9/2018 | thimble | 5 inch in row 1", After: "Date | Find | Depth in row 1"}
	columnByContent = &notice.Kind{Code: "column-by-content", Severity: notice.Warning, Group: group, Spec: "8.4",
		Title: "a column that is taken for what stands in it",
		Why:   "its heading is missing or not understood; days, grid references, numbers that run on and pictures show what they are", Help: "Look whether it is right; else name the field in the reading plan: findslip columns FILE -o plan.json.",
		Source: "our proposal", Before: "a column of days without a heading", After: "Date found"}
	dittoRead = &notice.Kind{Code: "ditto-read", Severity: notice.Info, Group: group, Spec: "8.4",
		Title:  "marks for the line above",
		Why:    "the value was taken from the line above; the mark is kept under the heading",
		Help:   "Look at them, if lines were sorted or moved after they were written.",
		Source: "common practice, no source", Before: "\"", After: "lead"}
	blanksFilled = &notice.Kind{Code: "blank-is-above", Severity: notice.Warning, Group: group, Spec: "8.4",
		Title:  "blanks that mean the line above",
		Why:    "the column never has a value twice in a row, or a title says so; each blank was filled from above",
		Help:   "If a blank means that nothing is known, write a question mark.",
		Source: "our proposal", Before: "a date at the first find of a day alone", After: "the date in each row"}
	sectionsRead = &notice.Kind{Code: "section-read", Severity: notice.Info, Group: group, Spec: "8.4",
		Title:  "headings between the finds",
		Why:    "a day or a field that stands above a group of rows holds for them",
		Help:   "Look whether day and field of the rows below are right.",
		Source: "our proposal", Before: "Sunday 21 April 2024 - Ten Acre", After: "Date and field in each row"}
	totalDiffers = &notice.Kind{Code: "total-differs", Severity: notice.Warning, Group: group, Spec: "8.4",
		Title: "a total that differs from what was read",
		Why:   "either a row was not read, or the total is of another day", Help: "Compare the rows with the total.",
		Source: "our proposal", Before: "Total 8 over rows that come to 7", After: "Total 7"}
	findsInRow = &notice.Kind{Code: "finds-in-row", Severity: notice.Info, Group: group, Spec: "8.4",
		Title: "several finds in a row",
		Why:   "each is a find of its own, with the day and the field of the row", Help: "Nothing to do.",
		Source: "our proposal", Before: "Find 1 | Depth 1 | Find 2 | Depth 2", After: "a row a find"}
	tableOnSide = &notice.Kind{Code: "table-on-its-side", Severity: notice.Info, Group: group, Spec: "8.4",
		Title: "a table on its side",
		Why:   "its headings stand below each other", Help: "Nothing to do.",
		Source: "our proposal", Before: "headings in column A", After: "headings in row 1"}
	tableBeside = &notice.Kind{Code: "table-beside", Severity: notice.Info, Group: group, Spec: "8.4",
		Title:  "a table that holds no finds",
		Why:    "it has no column for what was found; its rows are kept as notes",
		Help:   "If its rows are finds, say so in the reading plan: read is finds.",
		Source: "our proposal", Before: "hours a month below the log", After: "the same on a sheet of its own"}
	tableSecond = &notice.Kind{Code: "table-second", Severity: notice.Info, Group: group, Spec: "8.4",
		Title: "a further table of finds",
		Why:   "it has headings of its own and is read by them", Help: "Nothing to do.",
		Source: "our proposal", Before: "a table below another", After: "both read"}
	formulaUnworked = &notice.Kind{Code: "formula-without-result", Severity: notice.Warning, Group: group, Spec: "8.5",
		Title:  "a formula without a result",
		Why:    "the program that wrote the file did not save what the formula comes to",
		Help:   "Open the file in a spreadsheet program, save it, and read it again.",
		Source: "common practice, no source", Before: "=B3*2.54 without a value", After: "10.16"}
	rowDoubtful = &notice.Kind{Code: "row-doubtful", Severity: notice.Warning, Group: group, Spec: "8.4",
		Title: "a row whose cells may not stand where they belong",
		Why:   "a quotation mark or a separator is in doubt", Help: "Look at the row, and mend the quotation marks.",
		Source: "our proposal", Before: "a row with a quotation mark that does not end", After: "the row with pairs of them"}
	notesLeft = &notice.Kind{Code: "notes-not-kept", Severity: notice.Warning, Group: group, Spec: "8.4",
		Title: "more notes than a report holds",
		Why:   "what stands in those rows is in the log alone", Help: "Keep the log.",
		Source: "our proposal", Before: "a sheet of 10,000 rows beside the log", After: "the log itself"}
	rowNotAFind = &notice.Kind{Code: "row-not-a-find", Severity: notice.Info, Group: group, Spec: "8.4",
		Title:  "a row that is not a find",
		Why:    "it holds a note or a total; its text is kept as a note of the report",
		Help:   "If it is a find, give it a number or a name.",
		Source: "our proposal", Before: "a row with only a total", After: "the total below the log, or on another sheet"}
	rowHidden = &notice.Kind{Code: "row-hidden", Severity: notice.Info, Group: group, Spec: "8.5",
		Title: "a hidden row was read",
		Why:   "it may have been hidden because it does not count", Help: "Delete the row if it is not meant.",
		Source: "our proposal", Before: "row 12 filtered away", After: "row 12 shown or deleted"}
	rowStruck = &notice.Kind{Code: "row-struck-through", Severity: notice.Warning, Group: group, Spec: "8.5",
		Title:  "a row that is struck through was read",
		Why:    "whoever struck it through may mean that it does not count",
		Help:   "Delete the row if it does not count, or take the line through it away.",
		Source: "our proposal", Before: "a row that is struck through", After: "the row deleted, or not struck through"}
	findersTwo = &notice.Kind{Code: "finders-two", Severity: notice.Info, Group: group, Spec: "8.4",
		Title:  "a cell that names two finders",
		Why:    "a find has one finder, so the first was taken; the words are kept under the heading",
		Help:   "Nothing to do.",
		Source: "our proposal", Before: "PM/AK", After: "PM"}
	tallyRead = &notice.Kind{Code: "tally-read", Severity: notice.Warning, Group: group, Spec: "8.4",
		Title:  "a tally: headings that name things, and numbers below them",
		Why:    "each number was read as a find of so many, of the day and the field of its row",
		Help:   "Look whether that is right; else name the columns in the reading plan: findslip columns FILE -o plan.json.",
		Source: "our proposal", Before: "Outing | Buttons | Coins", After: "Date | Find | How many"}
	sheetHidden = &notice.Kind{Code: "sheet-hidden", Severity: notice.Info, Group: group, Spec: "8.5",
		Title:  "a hidden sheet",
		Why:    "a receiver of the workbook can see it as well; it is not read as finds",
		Help:   "Delete it before you pass the workbook on, if it is not meant.",
		Source: "our proposal", Before: "a hidden sheet", After: "no hidden sheet"}
	sheetNotRead = &notice.Kind{Code: "sheet-not-read", Severity: notice.Warning, Group: group, Spec: "8.5",
		Title:  "a second sheet that looks like finds",
		Why:    "another sheet was asked for; what stands on this one is kept as notes",
		Help:   "Leave out --sheet to read all sheets that hold finds.",
		Source: "our proposal", Before: "sheets 2025 and 2026", After: "one sheet Finds, or --sheet 2025 and --sheet 2026"}
	sheetBeside = &notice.Kind{Code: "sheet-beside", Severity: notice.Info, Group: group, Spec: "8.5",
		Title:  "a sheet that is not read",
		Why:    "it has no column for what was found; its rows are kept as notes of the report",
		Help:   "If it holds finds, say so in the reading plan: findslip columns FILE -o plan.json.",
		Source: "our proposal", Before: "a sheet Shopping", After: "a sheet Landowners"}
	cellsMerged = &notice.Kind{Code: "cells-merged", Severity: notice.Info, Group: group, Spec: "8.5",
		Title:  "merged cells among the finds",
		Why:    "a merged cell holds one value, in its first row; it is taken for all rows of the cell",
		Help:   "Nothing, if the value holds for all of them; else undo the merging and write it where it holds.",
		Source: "common practice, no source", Before: "one date merged over three rows",
		After: "the date in each of the three rows"}
	columnsHidden = &notice.Kind{Code: "columns-hidden", Severity: notice.Info, Group: group, Spec: "8.5",
		Title:  "hidden columns were read",
		Why:    "a receiver can see them as well, and they may have been hidden for a reason",
		Help:   "Delete the columns if they are not meant.",
		Source: "our proposal", Before: "a hidden column", After: "the column shown or deleted"}
	tableNote = &notice.Kind{Code: "table-form-found", Severity: notice.Info, Group: group, Spec: "8.4",
		Title:  "how the file was taken",
		Why:    "encoding and separator of a text table are found out, not stated",
		Help:   "If letters look wrong, say the encoding with --encoding.",
		Source: "our proposal", Before: "a file in Windows-1252", After: "a file in UTF-8"}
	unitsRow = &notice.Kind{Code: "units-row-read", Severity: notice.Info, Group: group, Spec: "8.4",
		Title: "a row of units below the headings",
		Why:   "it says the units of the columns and is not a find", Help: "Nothing to do, if that is what the row is.",
		Source: "our proposal", Before: "in | g | m", After: "Depth (in) | Weight (g)"}
	workbookParts = &notice.Kind{Code: "workbook-parts-ignored", Severity: notice.Info, Group: group, Spec: "8.5",
		Title: "macros or links to other files",
		Why:   "they are never run and never followed", Help: "Save the workbook without them before you pass it on.",
		Source: "common practice, no source", Before: "a workbook with macros", After: "a plain workbook"}
)

// Kinds returns every kind of notice of this package.
func Kinds() []*notice.Kind {
	return []*notice.Kind{languageRead, headingsNone, headingsMissing, columnByContent, dittoRead, blanksFilled,
		sectionsRead,
		totalDiffers, findsInRow, tableOnSide, tableBeside, tableSecond,
		formulaUnworked, rowDoubtful, notesLeft,
		headingUnknown, headingClaimed, orderContradicts, cellError, cellUnreadable, cellBeside, nameFrom, headingsJoined,
		rowNotAFind, rowHidden, rowStruck, findersTwo, tallyRead,
		sheetHidden, sheetNotRead, sheetBeside, cellsMerged, columnsHidden, tableNote, unitsRow, workbookParts}
}
