package photo

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"os"
	"runtime"

	"golang.org/x/image/tiff"
	"golang.org/x/image/webp"

	"hueward/colorimg/photo/heif"
)

// The usual limits; see [Limits].
const (
	defaultPixels = 120e6
	defaultBytes  = 256 << 20
	defaultWork   = 1024
)

// withDefaults returns the options with every zero field filled in.
func (o *Options) withDefaults() Options {
	p := *cmp.Or(o, new(Options))
	p.Limits.Pixels = cmp.Or(max(p.Limits.Pixels, 0), defaultPixels)
	p.Limits.Bytes = cmp.Or(max(p.Limits.Bytes, 0), defaultBytes)
	p.Work = cmp.Or(max(p.Work, 0), defaultWork)
	return p
}

// Open reads the photo. A file that cannot be measured gives a [*RefusedError];
// trouble of the file system and an ended ctx are wrapped. A broken EXIF block or colour profile is no error: the
// photo is then read without it (see [Photo.ProfileAssumed]).
func Open(ctx context.Context, name string, opt *Options) (*Photo, error) {
	o := opt.withDefaults()
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("open photo %q: %w", name, err)
	}
	b, err := readFile(name, o.Limits.Bytes)
	if err != nil {
		return nil, err
	}
	return openBytes(ctx, name, b, o)
}

// readFile reads a whole regular file of at most limit bytes.
func readFile(name string, limit int64) ([]byte, error) {
	fi, err := os.Stat(name) // before opening: a pipe would wait for its writer
	if err != nil {
		return nil, fileError(name, err)
	}
	switch {
	case fi.IsDir():
		return nil, unsupported(name, "is a folder, not a photo", "name the photos in it", nil)
	case !fi.Mode().IsRegular():
		return nil, unsupported(name, "is not an ordinary file", "copy the photo into a folder first", nil)
	case fi.Size() > limit:
		return nil, tooManyBytes(name, fi.Size(), limit)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fileError(name, err)
	}
	defer f.Close()
	var buf bytes.Buffer
	buf.Grow(int(fi.Size()) + bytes.MinRead)
	n, err := buf.ReadFrom(io.LimitReader(f, limit+1)) // the file may grow meanwhile
	if err != nil {
		return nil, fileError(name, err)
	}
	if n > limit {
		return nil, tooManyBytes(name, n, limit)
	}
	return buf.Bytes(), nil
}

// fileError wraps an error of the file system, without naming the file twice.
func fileError(name string, err error) error {
	var pe *os.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	return fmt.Errorf("%s: cannot be read: %w", name, err)
}

func tooManyBytes(name string, n, limit int64) error {
	return tooLarge(name, "the file has %d MiB, more than the limit of %d MiB", n>>20, limit>>20)
}

// openBytes opens the photo from the bytes of its file. The options have no
// zero field.
func openBytes(ctx context.Context, name string, b []byte, o Options) (p *Photo, err error) {
	defer func() {
		// A decoder that trips over a hostile file must not take the batch along.
		if r := recover(); r != nil {
			p, err = nil, broken(name, "the file is damaged", fmt.Errorf("decoder panic: %v", r))
		}
	}()
	format, err := formatOf(name, b)
	if err != nil {
		return nil, err
	}
	c := containers[format]
	cfg, err := c.config(bytes.NewReader(b))
	if err != nil {
		return nil, decodeError(ctx, name, err)
	}
	facts := c.facts(b)
	if err := check(name, cfg, facts, o.Limits); err != nil {
		return nil, err
	}
	giveBack, err := memory.hold(ctx, needed(format, cfg, b))
	if err != nil {
		return nil, fmt.Errorf("open photo %q: %w", name, err)
	}
	defer func() {
		if p == nil || err != nil {
			giveBack()
			return
		}
		p.giveBack = giveBack
		runtime.AddCleanup(p, func(f func()) { f() }, giveBack) // where Done is not called
	}()
	info := readEXIF(facts.exif)
	facts.space = info.space
	enc := facts.encoding(facts.gray || cfg.ColorModel == color.GrayModel || cfg.ColorModel == color.Gray16Model)

	im, err := c.decode(&ctxReader{ctx: ctx, r: bytes.NewReader(b)})
	if err != nil {
		return nil, decodeError(ctx, name, err)
	}
	if im.Bounds().Dx() != cfg.Width || im.Bounds().Dy() != cfg.Height {
		return nil, broken(name, "the file is damaged", fmt.Errorf("header says %d×%d, picture is %v", cfg.Width, cfg.Height,
			im.Bounds()))
	}
	if seeThrough(im) {
		return nil, unsupported(name, "is see-through, so that its colours are mixed with what lies behind", "export it without transparency",
			nil)
	}
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("open photo %q: %w", name, err)
	}
	turn := orientation(info.orientation)
	if facts.turn != 0 {
		turn = facts.turn
	}
	w, h := turn.size(cfg.Width, cfg.Height)
	lin, err := reduce(ctx, im, enc, turn, o.Work, format == formatWebP)
	if err != nil {
		return nil, decodeError(ctx, name, err)
	}
	lin.Native = enc.native()
	if _, few := im.(*image.Paletted); few {
		facts.coarse = fewColors
	}
	sum := sha256.Sum256(b)
	var kept []byte
	if format == formatJPEG && w*h < fineBelow {
		kept = b
	}
	return &Photo{
		File:           name,
		SHA256:         hex.EncodeToString(sum[:]),
		Format:         format,
		Width:          w,
		Height:         h,
		Taken:          info.taken,
		Camera:         info.camera,
		Profile:        enc.name,
		ProfileAssumed: enc.assumed,
		ProfileDamaged: enc.damaged,
		Image:          lin,
		Coarse:         facts.coarse,
		stored:         im,
		file:           kept,
		encoding:       enc,
		turn:           turn,
	}, nil
}

// fewColors is [Photo].Coarse for a picture of at most 256 colours. A guess.
const fewColors = 4

// container is how one format is read.
type container struct {
	config func(io.Reader) (image.Config, error)
	decode func(io.Reader) (image.Image, error)
	facts  func([]byte) facts
}

var containers = map[string]container{
	formatJPEG: {jpeg.DecodeConfig, jpeg.Decode, jpegFacts},
	formatPNG:  {png.DecodeConfig, png.Decode, pngFacts},
	formatTIFF: {tiff.DecodeConfig, tiff.Decode, tiffFacts},
	formatWebP: {webp.DecodeConfig, webp.Decode, webpFacts},
	formatHEIC: {heicConfig, heicDecode, heicFacts},
}

// check refuses pictures that must not be decoded, by their headers.
func check(name string, cfg image.Config, f facts, lim Limits) error {
	w, h := int64(cfg.Width), int64(cfg.Height)
	switch {
	case w <= 0 || h <= 0:
		return broken(name, fmt.Sprintf("the file says its picture is %d × %d pixels", w, h), nil)
	case w > lim.Pixels/h, f.pixels > lim.Pixels:
		return tooLarge(name, "the picture is %d × %d pixels, more than the limit of %.3g megapixels", w, h, float64(lim.Pixels)/1e6)
	case cfg.ColorModel == color.CMYKModel:
		return unsupported(name, "is a picture made for print (CMYK), whose colours depend on the ink", "export it as an RGB JPEG", nil)
	case f.animated:
		return unsupported(name, "is an animation, not a photo", hintPhoto, nil)
	case f.raw:
		return unsupported(name, "is a camera raw file", hintJPEG, nil)
	}
	if why := f.highRange(); why != "" {
		return unsupported(name, why, hintSDR, nil)
	}
	return nil
}

// decodeError turns a decoder's error into broken or unsupported.
func decodeError(ctx context.Context, name string, err error) error {
	if e := ctx.Err(); e != nil {
		return fmt.Errorf("open photo %q: %w", name, e)
	}
	var (
		ju jpeg.UnsupportedError
		pu png.UnsupportedError
		tu tiff.UnsupportedError
		hu *heif.UnsupportedError
	)
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return broken(name, "the file is cut short", err)
	case errors.As(err, &hu):
		return unsupported(name, hu.Reason, hintHEIC, err)
	case errors.As(err, &ju), errors.As(err, &pu), errors.As(err, &tu):
		return unsupported(name, "is written in a way that is not handled ("+plain(err.Error(), 80)+")",
			"open it in a photo program and "+hintJPEG, err)
	}
	return broken(name, "the file is damaged", err)
}

// ctxReader ends a long decode soon after ctx ends.
type ctxReader struct {
	ctx context.Context
	r   *bytes.Reader
}

func (c *ctxReader) Read(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.r.Read(p)
}

// Len returns the number of bytes left to read.
func (c *ctxReader) Len() int { return c.r.Len() }

// ReadAt spares the TIFF decoder its own copy of the file.
func (c *ctxReader) ReadAt(p []byte, off int64) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.r.ReadAt(p, off)
}
