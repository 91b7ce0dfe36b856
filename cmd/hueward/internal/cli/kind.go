package cli

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/png"
	"io"
	"unicode/utf16"

	"hueward/report"
	"hueward/report/print"
	"hueward/report/workbook"
	"hueward/selection/book/disk"
	"hueward/selection/calendar"
)

// Kind is a kind of file that commands write, and how an earlier one is known: by what
// is in it, as a name may be anyone's.
type Kind struct {
	what   string // as a line says it
	binary bool
	mark   []byte // of a picture
	own    func(f *disk.File, size int64) bool
}

// The kinds that commands write.
var (
	Report   = Kind{what: "a report", own: begins("<!DOCTYPE html>", report.Generator)}
	Calendar = Kind{what: "a calendar", own: begins("BEGIN:VCALENDAR", "PRODID:"+calendar.ProductID)}
	Sheets   = Kind{what: "a PDF", binary: true, own: isSheets}
	Workbook = Kind{what: "a workbook", binary: true, own: isWorkbook}
	Mask     = picture("a mask", "mask")
	Explain  = picture("an explanation", "explanation")
	Photo    = Kind{what: "a photo", own: func(*disk.File, int64) bool { return false }} // takes the place of nothing
)

// begins is a file that begins so, and has the mark in its first lines.
func begins(first, mark string) func(*disk.File, int64) bool {
	return func(f *disk.File, _ int64) bool {
		head := make([]byte, 2048)
		n, _ := f.ReadAt(head, 0)
		return bytes.HasPrefix(head[:n], []byte(first)) && bytes.Contains(head[:n], []byte(mark))
	}
}

// isSheets is a PDF by the word on its creator, which stands near its end.
func isSheets(f *disk.File, size int64) bool {
	head := make([]byte, 5)
	if _, err := f.ReadAt(head, 0); err != nil || string(head) != "%PDF-" {
		return false
	}
	const most = 1 << 20 // a long table of places comes after it
	tail := make([]byte, min(size, most))
	if _, err := f.ReadAt(tail, size-int64(len(tail))); err != nil {
		return false
	}
	mark := []byte("/Creator (\xfe\xff")
	for _, u := range utf16.Encode([]rune(print.Creator)) {
		mark = binary.BigEndian.AppendUint16(mark, u)
	}
	return bytes.Contains(tail, append(mark, ')'))
}

// isWorkbook is a workbook that no other program has saved since: that would name itself.
func isWorkbook(f *disk.File, size int64) bool {
	z, err := zip.NewReader(f, size)
	if err != nil {
		return false
	}
	app, err := z.Open("docProps/app.xml")
	if err != nil {
		return false
	}
	defer app.Close()
	text, err := io.ReadAll(io.LimitReader(app, 1<<16))
	return err == nil && bytes.Contains(text, []byte("<Application>"+workbook.Application+"</Application>"))
}

// picture is a PNG that says of itself what it is.
func picture(what, kind string) Kind {
	mark := pngMark(kind)
	return Kind{what: what, binary: true, mark: mark, own: func(f *disk.File, _ int64) bool {
		head := make([]byte, pngHead+len(mark))
		_, err := f.ReadAt(head, 0)
		return err == nil && bytes.Equal(head[pngHead:], mark)
	}}
}

// pngHead is how long a PNG's signature and its first chunk are.
const pngHead = 8 + 25

// pngMark is a chunk that names the program and the kind of picture.
//
// Source: PNG specification, third edition, 5.3 and 11.3.3.2 (tEXt), keyword Software.
func pngMark(kind string) []byte {
	data := "tEXtSoftware\x00hueward " + kind
	b := binary.BigEndian.AppendUint32(nil, uint32(len(data)-4))
	b = append(b, data...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE([]byte(data)))
}

// WritePNG writes a picture of the kind [Mask] or [Explain] as PNG, marked as such.
func WritePNG(name string, k Kind, im image.Image) error {
	return WriteFile(name, k, func(w io.Writer) error {
		var b bytes.Buffer
		e := png.Encoder{CompressionLevel: png.BestSpeed}
		if err := e.Encode(&b, im); err != nil {
			return err
		}
		for _, part := range [][]byte{b.Next(pngHead), k.mark, b.Bytes()} {
			if _, err := w.Write(part); err != nil {
				return err
			}
		}
		return nil
	})
}
