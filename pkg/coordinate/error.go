package coordinate

import "strings"

// Error says why a text could not be read as a position.
//
// Input, Part and Proposals hold what was written, and so may hold the position itself; a caller that must not repeat
// a position shows Message and Help only, which never contain a figure of the input. At is the byte offset of Part in
// Input, or -1 where no one part is at fault.
type Error struct {
	Input     string   // the whole text, as given
	Code      string   // kebab-case, kept for ever once published
	Part      string   // the part of Input at fault; empty where it is the whole
	At        int      // byte offset of Part in Input, or -1
	Message   string   // what was read and what was expected
	Help      string   // what to type instead
	Proposals []string // spellings that may have been meant; never applied
}

// Error returns the message, without the position.
func (e *Error) Error() string { return "reading a position: " + e.Message }

// Note is something that a reading had to assume, or that its reader should look at. Its message never quotes the
// position.
type Note struct {
	Code    string // kebab-case
	Message string // one sentence without a full stop
}

// fault makes an Error about the whole input.
func fault(input, code, message, help string, proposals ...string) *Error {
	return &Error{Input: input, Code: code, At: -1, Message: message, Help: help, Proposals: proposals}
}

// faultAt makes an Error about input[from:to].
func faultAt(input string, from, to int, code, message, help string, proposals ...string) *Error {
	if from < 0 || to > len(input) || from > to {
		return fault(input, code, message, help, proposals...)
	}
	return &Error{Input: input, Code: code, Part: input[from:to], At: from, Message: message, Help: help,
		Proposals: proposals}
}

// within says the fault in terms of a longer or an untidied input; a part that does not stand in it as it is, is left
// out.
func (e *Error) within(input string) *Error {
	if e.Input == input {
		return e
	}
	e.Input = input
	if e.Part != "" {
		e.At = strings.Index(input, e.Part)
	}
	if e.At < 0 {
		e.Part = ""
	}
	return e
}
