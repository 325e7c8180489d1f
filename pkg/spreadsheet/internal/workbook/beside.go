package workbook

import (
	"path"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// besides reads what stands beside the cells of a sheet in parts of its own: comments, drawings and the
// addresses of links. All of it is held, so its texts have a limit.
type besides struct {
	workbook *workbook
	layout   *grid.Layout
	links    map[string]string // addresses by the id of their relationship
	comments []comment
	replaced map[string]bool // cells whose comment is the outer form of a conversation
	people   map[string]string
	held     int64
}

// comment is a note on a cell.
type comment struct {
	ref string
	grid.Comment
	whole bool // a conversation, whose outer form is a comment of its own
}

// readBesides reads the parts that belong to a sheet.
func (w *workbook) readBesides(sheet string, layout *grid.Layout) (*besides, error) {
	b := &besides{workbook: w, layout: layout, links: map[string]string{}, replaced: map[string]bool{}}
	targets, err := w.relationships(sheet)
	if err != nil {
		return nil, err
	}
	for _, t := range targets {
		switch {
		case t.kind == "hyperlink":
			b.links[t.id] = t.address
		case t.external || !w.archive.has(t.part):
		case t.kind == "comments":
			err = w.readPart(t.part, b.readComments)
		case t.kind == "threadedComment":
			if err = b.readPeople(); err == nil {
				err = w.readPart(t.part, b.readConversations)
			}
		case t.kind == "drawing":
			err = b.readDrawing(t.part)
		}
		if err != nil {
			return nil, err
		}
	}
	for _, c := range b.comments {
		column, row, err := grid.ParseRef(c.ref)
		if err != nil || !c.whole && b.replaced[c.ref] && strings.HasPrefix(c.Author, "tc=") {
			continue
		}
		layout.Attach(row, column, grid.More{Comments: []grid.Comment{c.Comment}})
	}
	return b, nil
}

// hold counts what is held of a text.
func (b *besides) hold(text string) error {
	if b.held += int64(len(text)) + 64; b.held > b.workbook.limits.Held {
		return &grid.LimitError{Limit: "held", Value: b.held, Max: b.workbook.limits.Held}
	}
	return nil
}

// readComments reads the notes of a sheet, ISO/IEC 29500-1 clause 18.7.
func (b *besides) readComments(s *scanner) error {
	var authors []string
	if err := s.root("comments"); err != nil {
		return err
	}
	for depth := s.depth(); ; {
		if ok, err := s.child(depth); !ok || err != nil {
			return err
		}
		switch string(s.name) {
		case "authors":
			for list := s.depth(); ; {
				ok, err := s.child(list)
				if err != nil {
					return err
				}
				if !ok {
					break
				}
				author, err := appendElement(nil, 0, s, b.workbook.limits.CellLength)
				if err == nil {
					err = b.hold(string(author))
				}
				if err != nil {
					return err
				}
				authors = append(authors, string(author))
			}
		case "commentList":
			for list := s.depth(); ; {
				ok, err := s.child(list)
				if err != nil {
					return err
				}
				if !ok {
					break
				}
				if err := b.readComment(s, authors); err != nil {
					return err
				}
			}
		}
	}
}

func (b *besides) readComment(s *scanner, authors []string) error {
	var c comment
	if err := s.attributes(func(key, value string) {
		switch key {
		case "ref":
			c.ref = value
		case "authorId":
			if i, err := strconv.Atoi(value); err == nil && i >= 0 && i < len(authors) {
				c.Author = strings.TrimSpace(authors[i])
			}
		}
	}); err != nil {
		return err
	}
	for depth := s.depth(); ; {
		ok, err := s.child(depth)
		if err != nil {
			return err
		}
		if !ok {
			break
		}
		if string(s.name) != "text" {
			continue
		}
		text, err := appendRich(nil, s, b.workbook.limits.CellLength)
		if err != nil {
			return err
		}
		c.Text = strings.TrimSpace(string(unescape(text)))
	}
	// Programs write the name of the author on top of the text as well.
	if rest, ok := strings.CutPrefix(c.Text, c.Author+":"); ok && c.Author != "" {
		c.Text = strings.TrimSpace(rest)
	}
	if c.Text == "" {
		return nil
	}
	b.comments = append(b.comments, c)
	return b.hold(c.Text)
}

// readConversations reads notes with answers ([MS-XLSX] 2.6.205, from memory). Each has an outer form among
// the comments, for programs that do not know them, which is left out.
func (b *besides) readConversations(s *scanner) error {
	if err := s.root("ThreadedComments"); err != nil {
		return err
	}
	for depth := s.depth(); ; {
		if ok, err := s.child(depth); !ok || err != nil {
			return err
		}
		c := comment{whole: true}
		if err := s.attributes(func(key, value string) {
			switch key {
			case "ref":
				c.ref = value
			case "personId":
				c.Author = b.people[value]
			}
		}); err != nil {
			return err
		}
		for inside := s.depth(); ; {
			ok, err := s.child(inside)
			if err != nil {
				return err
			}
			if !ok {
				break
			}
			if string(s.name) != "text" {
				continue
			}
			text, err := appendElement(nil, 0, s, b.workbook.limits.CellLength)
			if err != nil {
				return err
			}
			c.Text = strings.TrimSpace(string(text))
		}
		if c.Text == "" {
			continue
		}
		b.comments = append(b.comments, c)
		b.replaced[c.ref] = true
		if err := b.hold(c.Text); err != nil {
			return err
		}
	}
}

// readPeople reads the names of those who wrote conversations.
func (b *besides) readPeople() error {
	const part = "xl/persons/person.xml"
	b.people = map[string]string{}
	if !b.workbook.archive.has(part) {
		return nil
	}
	return b.workbook.readPart(part, func(s *scanner) error {
		if err := s.root("personList"); err != nil {
			return err
		}
		return readList(s, "person", func(attributes map[string]string) {
			b.people[attributes["id"]] = attributes["displayName"]
		})
	})
}

// readDrawing reads the pictures and text boxes that lie on a sheet.
func (b *besides) readDrawing(part string) error {
	targets, err := b.workbook.relationships(part)
	if err != nil {
		return err
	}
	names := map[string]string{}
	for _, t := range targets {
		names[t.id] = path.Base(t.part)
		if t.external {
			names[t.id] = t.address
		}
	}
	return b.workbook.readPart(part, func(s *scanner) error {
		if err := s.root("wsDr"); err != nil {
			return err
		}
		for depth := s.depth(); ; {
			if ok, err := s.child(depth); !ok || err != nil {
				return err
			}
			d := drawing{column: -1, row: -1}
			if err := d.read(s, b.workbook.limits.CellLength); err != nil {
				return err
			}
			if err := b.add(&d, names); err != nil {
				return err
			}
		}
	})
}

// drawing is what lies at one place of a sheet.
type drawing struct {
	column, row int // of the upper left corner, from 0; below 0 if it is not tied to a cell
	pictures    []string
	title       string
	text        []byte
}

// read reads a drawing, ISO/IEC 29500-1 clause 20.5, as far as it is text or a picture.
func (d *drawing) read(s *scanner, longest int64) error {
	for depth := s.depth(); ; {
		t, err := s.next()
		if err != nil {
			return err
		}
		if t == endTag && s.depth() < depth {
			return nil
		}
		if t != startTag {
			continue
		}
		switch string(s.name) {
		case "col":
			err = readCount(s, &d.column)
		case "row":
			err = readCount(s, &d.row)
		case "p":
			if len(d.text) > 0 && d.text[len(d.text)-1] != '\n' {
				d.text = append(d.text, '\n')
			}
		case "t":
			d.text, err = appendElement(d.text, 0, s, longest)
		case "blip":
			err = s.attributes(func(key, value string) {
				if strings.HasSuffix(key, ":embed") || strings.HasSuffix(key, ":link") {
					d.pictures = append(d.pictures, value)
				}
			})
		case "cNvPr":
			err = s.attributes(func(key, value string) {
				if key == "descr" && value != "" {
					d.title = value
				}
			})
		}
		if err != nil {
			return err
		}
	}
}

// readCount reads a number that stands as the text of an element, if it is the first one.
func readCount(s *scanner, n *int) error {
	text, err := appendElement(nil, 0, s, 20)
	if i, ok := number(text); ok && *n < 0 {
		*n = i
	}
	return err
}

// add puts a drawing among what the sheet has beside its rows.
func (b *besides) add(d *drawing, names map[string]string) error {
	ref := ""
	tied := d.column >= 0 && d.column < grid.MaxColumns && d.row >= 0 && d.row < grid.MaxRows
	if tied {
		ref = grid.Cell{Column: d.column + 1}.Ref(d.row + 1)
	}
	if text := strings.TrimSpace(string(d.text)); text != "" {
		b.layout.Texts = append(b.layout.Texts, grid.FreeText{Cell: ref, Text: text})
		if err := b.hold(text); err != nil {
			return err
		}
	}
	for _, id := range d.pictures {
		name := names[id]
		b.layout.Pictures = append(b.layout.Pictures, grid.Picture{Cell: ref, Name: name, Title: d.title})
		if tied {
			b.layout.Attach(d.row+1, d.column+1, grid.More{Pictures: []string{name}})
		}
		if err := b.hold(name + d.title); err != nil {
			return err
		}
	}
	return nil
}

// maxLinked is how many cells of a range take its link.
const maxLinked = 256

// readLinks reads which cells lead somewhere, ISO/IEC 29500-1 clause 18.3.1.47.
func (r *sheetReader) readLinks() error {
	var failed error
	err := readList(r.scanner, "hyperlink", func(attributes map[string]string) {
		cells, err := grid.ParseRange(attributes["ref"])
		if err != nil {
			return
		}
		address := ""
		for key, value := range attributes {
			if strings.HasSuffix(key, ":id") {
				address = r.besides.links[value]
			}
		}
		if place := attributes["location"]; place != "" {
			address += "#" + place
		}
		if address == "" {
			return
		}
		if err := r.besides.hold(address); err != nil {
			failed = err
			return
		}
		n := 0
		for row := cells.FirstRow; row <= cells.LastRow; row++ {
			for column := cells.FirstColumn; column <= cells.LastColumn && n < maxLinked; column++ {
				r.layout.Attach(row, column, grid.More{Links: []string{address}})
				n++
			}
			if n >= maxLinked {
				break
			}
		}
	})
	if err == nil {
		err = failed
	}
	return err
}

// readHeaders reads what is printed above and below a sheet, without its codes, ISO/IEC 29500-1 clause
// 18.3.1.46.
func (r *sheetReader) readHeaders() error {
	for depth := r.depth(); ; {
		ok, err := r.child(depth)
		if !ok || err != nil {
			return err
		}
		raw, err := appendElement(nil, 0, r.scanner, r.limits.CellLength)
		if err != nil {
			return err
		}
		if text := headerText(string(raw)); text != "" {
			r.layout.Texts = append(r.layout.Texts, grid.FreeText{Text: text})
			if err := r.besides.hold(text); err != nil {
				return err
			}
		}
	}
}

// headerText takes the codes out of a header: &L for the left part, &P for the number of the page, &"Arial" for
// a font, &12 for a size.
func headerText(raw string) string {
	var b strings.Builder
	for raw != "" {
		before, rest, found := strings.Cut(raw, "&")
		b.WriteString(before)
		if !found || rest == "" {
			break
		}
		switch c := rest[0]; {
		case c == '&':
			b.WriteByte('&')
			raw = rest[1:]
		case c == '"':
			_, raw, _ = strings.Cut(rest[1:], `"`)
		case c >= '0' && c <= '9':
			raw = strings.TrimLeft(rest, "0123456789")
		default:
			if strings.IndexByte("LCR", c) >= 0 && b.Len() > 0 {
				b.WriteByte(' ')
			}
			raw = rest[1:]
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}
