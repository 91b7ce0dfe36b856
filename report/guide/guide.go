// Package guide holds the texts from which a grower learns the work: photographing, cards, numbers, a season, choosing
// parents. They are Markdown files in topics. Start with [Topics] or [Named]; a terminal shows a topic as [Topic.Blocks],
// a page as [Topic.HTML].
package guide

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"strings"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	table "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/text"
)

//go:embed topics/*.md
var files embed.FS

// Topic is one text.
type Topic struct {
	Name  string // in one word, as it is asked for
	Title string
}

// Topics are all topics, in the order in which they are best read.
var Topics = []Topic{
	{"photographing", "Photographing"},
	{"cards", "Cards, strips and charts"},
	{"numbers", "Reading the numbers"},
	{"flags", "What to do about each flag"},
	{"season", "A season's calendar"},
	{"parents", "Choosing parents"},
	{"true", "Keeping a line true"},
	{"phone", "In the garden, on a phone"},
	{"moving", "Moving a book to another computer"},
}

// Named returns the topic of that name, whatever its case.
func Named(name string) (Topic, bool) {
	for _, t := range Topics {
		if strings.EqualFold(t.Name, name) {
			return t, true
		}
	}
	return Topic{}, false
}

// Source is the topic's Markdown.
func (t Topic) Source() string {
	b, err := files.ReadFile("topics/" + t.Name + ".md")
	if err != nil {
		panic(fmt.Sprintf("guide: topic %q: %v", t.Name, err)) // embedded; a test reads all
	}
	return string(b)
}

var markdown = goldmark.New(goldmark.WithExtensions(extension.Table))

// HTML is the topic for a page.
func (t Topic) HTML() (template.HTML, error) {
	var b bytes.Buffer
	err := markdown.Convert([]byte(t.Source()), &b)
	return template.HTML(b.String()), err
}

// Kind is what a block is.
type Kind int

// The kinds of a block.
const (
	Heading Kind = iota
	Paragraph
	Item // of a list
	Code
	Table
)

// Block is a part of a topic as a terminal shows it, its marks taken off.
type Block struct {
	Kind  Kind
	Text  string     // of a heading, paragraph or item in one line, of code as it is
	Head  []string   // of a table
	Cells [][]string // its rows
}

// Blocks are the topic's parts in order.
func (t Topic) Blocks() []Block {
	src := []byte(t.Source())
	var out []Block
	for n := markdown.Parser().Parse(text.NewReader(src)).FirstChild(); n != nil; n = n.NextSibling() {
		switch n := n.(type) {
		case *ast.Heading:
			out = append(out, Block{Kind: Heading, Text: plain(n, src)})
		case *ast.List:
			for item := n.FirstChild(); item != nil; item = item.NextSibling() {
				out = append(out, Block{Kind: Item, Text: plain(item, src)})
			}
		case *ast.FencedCodeBlock:
			var b strings.Builder
			for i := range n.Lines().Len() {
				line := n.Lines().At(i)
				b.Write(line.Value(src))
			}
			out = append(out, Block{Kind: Code, Text: strings.TrimRight(b.String(), "\n")})
		case *table.Table:
			b := Block{Kind: Table}
			for row := n.FirstChild(); row != nil; row = row.NextSibling() {
				var cells []string
				for c := row.FirstChild(); c != nil; c = c.NextSibling() {
					cells = append(cells, plain(c, src))
				}
				if row.Kind() == table.KindTableHeader {
					b.Head = cells
				} else {
					b.Cells = append(b.Cells, cells)
				}
			}
			out = append(out, b)
		default:
			out = append(out, Block{Kind: Paragraph, Text: plain(n, src)})
		}
	}
	return out
}

// plain is the text of a node in one line.
func plain(n ast.Node, src []byte) string {
	var b strings.Builder
	ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if t, ok := n.(*ast.Text); ok && entering {
			b.Write(t.Segment.Value(src))
			if t.SoftLineBreak() || t.HardLineBreak() {
				b.WriteByte(' ')
			}
		}
		return ast.WalkContinue, nil
	})
	return strings.Join(strings.Fields(strings.ReplaceAll(b.String(), `\`, "")), " ")
}
