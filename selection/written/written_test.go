package written

import (
	"strings"
	"testing"
	"time"
)

func day(s string) time.Time {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return t
}

// What people write for a day, on Friday 14 August 2026; common practice, no source.
// The order in 12/7 is that of the locale.
func TestDays(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		s     string
		order Order
		want  string // a day, or what the error says
	}{
		{"", Unclear, "2026-08-14"}, {" Today ", Unclear, "2026-08-14"}, {"yesterday", Unclear, "2026-08-13"},
		{"2 days ago", Unclear, "2026-08-12"}, {"a day ago", Unclear, "2026-08-13"}, {"-2d", Unclear, "2026-08-12"},
		{"-2", Unclear, "2026-08-12"},
		{"\u22122d", Unclear, "2026-08-12"}, {"1 week ago", Unclear, "2026-08-07"}, {"two weeks ago", Unclear, "2026-07-31"},
		{"day before yesterday", Unclear, "2026-08-12"}, {"the day before yesterday", Unclear, "2026-08-12"},
		{"friday", Unclear, "2026-08-14"}, {"last friday", Unclear, "2026-08-07"}, {"on Saturday", Unclear, "2026-08-08"},
		{"wed", Unclear, "2026-08-12"},
		{"2026-07-12", Unclear, "2026-07-12"}, {"2026-7-2", Unclear, "2026-07-02"}, {"2026/07/12", Unclear, "2026-07-12"},
		{"12.7.2026", Unclear, "2026-07-12"}, {"12.07.26", Unclear, "2026-07-12"}, {"12. 7. 2026", Unclear, "2026-07-12"},
		{"12.7.", Unclear, "2026-07-12"}, {"12.7", MonthFirst, "2026-07-12"}, {"28.2.", Unclear, "2026-02-28"}, {"1.1.", Unclear, "2026-01-01"},
		{"20.12.", Unclear, "say of which year"}, {"15.8.", Unclear, "say of which year"}, {"29.2.", Unclear, "no such day"},
		{"31.4.2026", Unclear, "no such day"}, {"0.7.2026", Unclear, "no such day"}, {"12.13.2026", Unclear, "no such day"},
		{"12/7/2026", DayFirst, "2026-07-12"}, {"7/12/2026", MonthFirst, "2026-07-12"}, {"12/7", DayFirst, "2026-07-12"},
		{"7/12", MonthFirst, "2026-07-12"}, {"3/4/26", DayFirst, "2026-04-03"}, {"3/4/26", MonthFirst, "2026-03-04"},
		{"3/4/2026", Unclear, "is 3 April or 4 March; write 2026-04-03 or 2026-03-04"}, {"3/4", Unclear, "is 3 April or 4 March"},
		{"25/7/2026", Unclear, "2026-07-25"}, {"7/25/2026", DayFirst, "2026-07-25"}, {"7/7/2026", Unclear, "2026-07-07"},
		{"12-7-2026", DayFirst, "2026-07-12"}, {"12-7-2026", Unclear, "is 12 July or 7 December"}, {"31/4/2026", DayFirst, "no such day"},
		{"12 July 2026", Unclear, "2026-07-12"}, {"July 12", Unclear, "2026-07-12"}, {"12th jul", Unclear, "2026-07-12"},
		{"Jul. 12, 2026", Unclear, "2026-07-12"},
		{"12 Jug", Unclear, "want today"}, {"2026-08-15", Unclear, "lies ahead; today is 2026-08-14"},
		{"tomorrow", Unclear, "2026-08-15, lies ahead"},
		{"in 3 days", Unclear, "lies ahead"}, {"1826-07-12", Unclear, "not between 1900"}, {"soon", Unclear, "want today, yesterday"},
		{"2026-02-30", Unclear, "no such day"}, {"99999 days ago", Unclear, "want today"}, {"12.7.202", Unclear, "want today"},
	} {
		got, err := Days{Today: day("2026-08-14"), Order: c.order}.Parse(c.s)
		switch {
		case err != nil && (c.want[0] == '2' && len(c.want) == 10 || !strings.Contains(err.Error(), c.want)):
			t.Errorf("%q: %v, want %s", c.s, err, c.want)
		case err == nil && got.Format(time.DateOnly) != c.want:
			t.Errorf("%q = %s, want %s", c.s, got.Format(time.DateOnly), c.want)
		}
	}
	// Around the turn of the year, and ahead.
	if got, err := (Days{Today: day("2026-01-03")}).Parse("28.12."); err != nil || !got.Equal(day("2025-12-28")) {
		t.Errorf("28.12. in January: %v, %v", got, err)
	}
	for s, want := range map[string]string{"20.8.": "2026-08-20", "tomorrow": "2026-08-15", "+2w": "2026-08-28",
		"in 3 days": "2026-08-17", "10.1.": "2027-01-10"} {
		if got, err := (Days{Today: day("2026-08-14"), Ahead: true}).Parse(s); err != nil || !got.Equal(day(want)) {
			t.Errorf("%s ahead: %v, %v, want %s", s, got, err, want)
		}
	}
}

// Locales as the GNU C Library names them, and as a browser does. The orders are those of
// the library's d_fmt, version 2.36.
func TestOrderOf(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]Order{"de_DE.UTF-8": DayFirst, "en_GB.UTF-8": DayFirst, "en-GB": DayFirst, "en_US.UTF-8": MonthFirst,
		"en-US": MonthFirst, "C": Unclear, "C.UTF-8": Unclear, "POSIX": Unclear, "en_CA.UTF-8": Unclear, "fr_CA": Unclear, "sv_SE": Unclear,
		"ja_JP": Unclear, "es_ES@euro": DayFirst, "eu_ES": Unclear, "en_DK.UTF-8": Unclear, "es_US": Unclear, "en": Unclear, "": Unclear,
		"x_ A": Unclear} {
		if got := OrderOfLocale(name); got != want {
			t.Errorf("%s: %d, want %d", name, got, want)
		}
	}
	env := map[string]string{"LANG": "en_US.UTF-8", "LC_TIME": "de_DE.UTF-8"}
	get := func(n string) string { return env[n] }
	if OrderOf(get) != DayFirst {
		t.Error("LC_TIME goes before LANG")
	}
	env["LC_ALL"] = "C"
	if OrderOf(get) != Unclear {
		t.Error("LC_ALL goes before LC_TIME")
	}
}

func TestNumbers(t *testing.T) {
	t.Parallel()
	for s, want := range map[string]float64{"3,5": 3.5, "3.5": 3.5, " -0,25 ": -0.25, "\u22122": -2, "1e3": 1000, "7": 7} {
		if v, err := Number(s); err != nil || v != want {
			t.Errorf("%q = %v, %v, want %v", s, v, err, want)
		}
	}
	for _, s := range []string{"", "1.234,5", "1,234,5", "nan", "inf", "0x1p4", "1_000", "3,5 cm", "1e999", "drei"} {
		if v, err := Number(s); err == nil || strings.Contains(err.Error(), "strconv") {
			t.Errorf("%q = %v, %v, want a plain error", s, v, err)
		}
	}
	for s, want := range map[string][3]float64{"76,14,38": {76, 14, 38}, "76, 14.5, 38": {76, 14.5, 38}, "76,5;14;38": {76.5, 14, 38},
		"76,5 14,2 38": {76.5, 14.2, 38}, "76 14 38": {76, 14, 38}, "76.5 ; 14,5 ; 38": {76.5, 14.5, 38}, "76 ,14 ,38": {76, 14, 38}} {
		if v, err := Numbers(s); err != nil || len(v) != 3 || [3]float64(v) != want {
			t.Errorf("%q = %v, %v, want %v", s, v, err, want)
		}
	}
}

// Whatever is typed is one day that exists and is not ahead, or one line.
func FuzzDays(f *testing.F) {
	for _, s := range []string{"12.7.2026", "12/7", "-2d", "2 weeks ago", "July 12, 2026", "last mon", "29.2.", "\xff", "2026-99-99"} {
		f.Add(s, 1)
	}
	f.Fuzz(func(t *testing.T, s string, order int) {
		today := day("2026-08-14")
		got, err := Days{Today: today, Order: Order(order)}.Parse(s)
		if err != nil {
			if strings.ContainsAny(err.Error(), "\n\r\x1b") || strings.Contains(err.Error(), "parsing") {
				t.Errorf("%q: %q", s, err)
			}
			return
		}
		if got.After(today) || got.Year() < 1900 || got != got.Truncate(24*time.Hour) {
			t.Errorf("%q = %v", s, got)
		}
		// Written out in full it is the same day.
		if again, err := (Days{Today: today}).Parse(got.Format("2.1.2006")); err != nil || !again.Equal(got) {
			t.Errorf("%q = %v, then %v, %v", s, got, again, err)
		}
	})
}
