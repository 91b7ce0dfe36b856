package main

import (
	_ "charm.land/lipgloss/v2"
	_ "charm.land/lipgloss/v2/table"
	_ "github.com/bep/imagemeta"
	_ "github.com/chromedp/chromedp"
	_ "github.com/disintegration/imaging"
	_ "github.com/google/go-cmp/cmp"
	_ "github.com/kovidgoyal/imaging/prism/meta/icc"
	_ "github.com/lucasb-eyer/go-colorful"
	_ "github.com/rogpeppe/go-internal/testscript"
	_ "github.com/schollz/progressbar/v3"
	_ "github.com/spf13/cobra"
	_ "golang.org/x/image/tiff"
	_ "golang.org/x/image/webp"
	_ "golang.org/x/image/vector"
	_ "golang.org/x/sync/semaphore"
	_ "golang.org/x/sync/errgroup"
	_ "golang.org/x/term"
	_ "gonum.org/v1/gonum/mat"
	_ "gonum.org/v1/gonum/optimize"
	_ "gonum.org/v1/gonum/stat"
	_ "gonum.org/v1/gonum/stat/distuv"
	_ "gonum.org/v1/gonum/stat/distmv"
	_ "gonum.org/v1/plot"
	_ "gonum.org/v1/plot/vg/vgsvg"
	_ "gonum.org/v1/plot/plotter"
	_ "modernc.org/sqlite"
	_ "pgregory.net/rapid"
)

func main() {}
