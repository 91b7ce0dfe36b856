package tag

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
	"github.com/makiuchi-d/gozxing/qrcode/encoder"
)

// Quiet is how many modules must stay white around a printed code.
//
// Source: ISO/IEC 18004, quiet zone; from memory.
const Quiet = 4

// Matrix returns the QR code that holds the text: rows of modules from the top,
// true where dark, without the quiet zone. It is the smallest that withstands
// the loss of 15 % (level M); what room is left there goes into a higher level.
func Matrix(text string) (rows [][]bool, err error) {
	defer func() {
		if r := recover(); r != nil {
			rows, err = nil, fmt.Errorf("no QR code can be made of %.40q: %v", text, r)
		}
	}()
	if text == "" {
		return nil, fmt.Errorf("no QR code can be made of an empty text")
	}
	if !utf8.ValidString(text) {
		return nil, fmt.Errorf("no QR code can be made of %.40q: write it in UTF-8", text)
	}
	// Letters beyond ASCII are announced as UTF-8 (ECI 26); readers guess otherwise.
	var hints map[gozxing.EncodeHintType]any
	if strings.ContainsFunc(text, func(r rune) bool { return r >= utf8.RuneSelf }) {
		hints = map[gozxing.EncodeHintType]any{gozxing.EncodeHintType_CHARACTER_SET: "UTF-8"}
	}
	var best *encoder.QRCode
	for _, level := range []decoder.ErrorCorrectionLevel{
		decoder.ErrorCorrectionLevel_M, decoder.ErrorCorrectionLevel_Q, decoder.ErrorCorrectionLevel_H,
	} {
		code, err := encoder.Encoder_encode(text, level, hints)
		if err != nil {
			if best == nil {
				return nil, fmt.Errorf("no QR code can be made of %.40q: shorten it: %w", text, err)
			}
			break
		}
		if best != nil && code.GetVersion().GetVersionNumber() > best.GetVersion().GetVersionNumber() {
			break
		}
		best = code
	}
	m := best.GetMatrix()
	rows = make([][]bool, m.GetHeight())
	for y := range rows {
		for x := range m.GetWidth() {
			rows[y] = append(rows[y], m.Get(x, y) == 1)
		}
	}
	return rows, nil
}
