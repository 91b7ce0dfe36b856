//go:build manual

package main

import (
	"fmt"
	"io"
	"os"
	"strconv"
	"time"

	"github.com/spf13/cobra/doc"

	"hueward/cmd/hueward/internal/cli"
)

// A program built with the tag manual does nothing but write the manual pages of the commands into a folder, dated by
// SOURCE_DATE_EPOCH, seconds since 1970:
//
//	go run -tags manual ./cmd/hueward FOLDER
//
// A released hueward is built without the tag, and without what makes the pages.
func init() {
	if err := manual(os.Args[1:]); err != nil {
		fmt.Fprintf(os.Stderr, "hueward manual: %v\n", err)
		os.Exit(1)
	}
	os.Exit(0)
}

func manual(args []string) error {
	if len(args) != 1 {
		return fmt.Errorf("name one folder")
	}
	seconds, err := strconv.ParseInt(os.Getenv("SOURCE_DATE_EPOCH"), 10, 64)
	if err != nil {
		return fmt.Errorf("SOURCE_DATE_EPOCH: %w", err)
	}
	date := time.Unix(seconds, 0).UTC()
	commands := root(cli.New(nil, io.Discard, io.Discard, nil, version))
	commands.DisableAutoGenTag = true
	return doc.GenManTree(commands, &doc.GenManHeader{Section: "1", Date: &date, Source: "hueward " + version, Manual: "hueward"}, args[0])
}
