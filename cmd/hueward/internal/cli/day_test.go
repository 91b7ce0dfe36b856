package cli

import (
	"errors"
	"io"
	"strings"
	"testing"
	"time"
)

func TestDay(t *testing.T) {
	a := New(strings.NewReader(""), io.Discard, io.Discard, nil, "")
	a.Now = func() time.Time { return time.Date(2026, 3, 1, 0, 30, 0, 0, time.FixedZone("", 3*3600)) }
	for s, want := range map[string]string{"": "2026-03-01", "Today": "2026-03-01", "yesterday": "2026-02-28",
		"2026-02-14": "2026-02-14", "14.2.": "2026-02-14",
		"-2d": "2026-02-27", "25/2/2026": "2026-02-25"} {
		if got, err := a.Day("on", s); err != nil || got.Format(time.DateOnly) != want {
			t.Errorf("Day(%q) = %v, %v, want %s", s, got, err, want)
		}
	}
	for _, s := range []string{"2026-03-02", "1/2/2026", "29.2.2026", "2026-02-30", "tomorrow"} {
		var u *UsageError
		if got, err := a.Day("on", s); !errors.As(err, &u) || !strings.Contains(err.Error(), "--on") {
			t.Errorf("Day(%q) = %v, %v, want a usage error", s, got, err)
		}
	}
	a.Env = []string{"LANG=en_US.UTF-8", "LC_ALL=de_DE.UTF-8"}
	if got, err := a.Day("on", "1/2/2026"); err != nil || got.Format(time.DateOnly) != "2026-02-01" {
		t.Errorf("1/2/2026 in Germany = %v, %v", got, err)
	}
	if got, err := a.AnyDay("on", "tomorrow"); err != nil || got.Format(time.DateOnly) != "2026-03-02" {
		t.Errorf("tomorrow = %v, %v", got, err)
	}
}
