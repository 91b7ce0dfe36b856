package written

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"
)

// DayForms says in words how a day may be written.
const DayForms = "today, yesterday, 2 days ago, or a date such as 2026-07-14 or 14.7.2026"

// Days reads days.
type Days struct {
	Today time.Time // the present day, as midnight UTC
	Order Order     // of day and month in 12/7/2026
	Ahead bool      // a day in the future is allowed
}

var (
	ago      = Pattern(`^(?:(\d{1,4}|a|an|one|two|three) ?(d|days?|w|weeks?) ago|-(\d{1,4}) ?(d|days?|w|weeks?)?)$`)
	hence    = Pattern(`^(?:in (\d{1,4}|a|an|one|two|three) (d|days?|w|weeks?)|\+(\d{1,4}) ?(d|days?|w|weeks?)?)$`)
	iso      = Pattern(`^(\d{4})([-./])(\d{1,2})[-./](\d{1,2})$`)
	midnight = Pattern(`^(.*\d)[ T]0?0:00(?::00(?:\.0+)?)?$`)
	serial   = Pattern(`^\d{5}(?:[.,]\d+)?$`)
	dotted   = Pattern(`^(\d{1,2})\. ?(\d{1,2})(?:\.? ?|\. ?(\d{2}|\d{4}))$`)
	strokes  = Pattern(`^(\d{1,2})([/-])(\d{1,2})(?:[/-](\d{2}|\d{4}))?$`)
	dayMonth = Pattern(`^(\d{1,2})(?:st|nd|rd|th|\.)? ?([a-z]{3,9})\.?,?(?: (\d{4}))?$`)
	monthDay = Pattern(`^([a-z]{3,9})\.? ?(\d{1,2})(?:st|nd|rd|th)?,?(?: (\d{4}))?$`)
)

// Pattern returns a function that compiles a regular expression when it is first called, so that a command does not
// wait for expressions that it does not use.
func Pattern(expr string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expr) })
}

// Parse reads a day as midnight UTC; empty is today. A date without a year is in this year; where that lies in the future,
// it is in last year, if that is at most half a year ago. The error is one line, quotes s and says how to write a day.
func (d Days) Parse(s string) (time.Time, error) {
	t := strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(s, "\u2212", "-"))), " ")
	day, err := d.parse(s, t)
	switch {
	case err != nil:
		return time.Time{}, err
	case day.Year() < 1900 || day.Year() >= 2200:
		return time.Time{}, fmt.Errorf("%s: its year is not between 1900 and 2199", quote(s))
	case !d.Ahead && day.After(d.Today):
		at := ""
		if iso := day.Format(time.DateOnly); iso != t {
			at = ", " + iso + ","
		}
		return time.Time{}, fmt.Errorf("%s%s lies ahead; today is %s", quote(s), at, d.Today.Format(time.DateOnly))
	}
	return day, nil
}

func (d Days) parse(s, t string) (time.Time, error) {
	switch t {
	case "", "today":
		return d.Today, nil
	case "yesterday":
		return d.Today.AddDate(0, 0, -1), nil
	case "day before yesterday", "the day before yesterday":
		return d.Today.AddDate(0, 0, -2), nil
	case "tomorrow":
		return d.Today.AddDate(0, 0, 1), nil
	}
	if m := ago().FindStringSubmatch(t); m != nil {
		return d.Today.AddDate(0, 0, -steps(m)), nil
	}
	if m := hence().FindStringSubmatch(t); m != nil {
		return d.Today.AddDate(0, 0, steps(m)), nil
	}
	for i := range 7 {
		name := strings.ToLower(time.Weekday(i).String())
		if w := strings.TrimPrefix(strings.TrimPrefix(t, "last "), "on "); w == name || w == name[:3] {
			back := (int(d.Today.Weekday()) - i + 7) % 7
			if back == 0 && strings.HasPrefix(t, "last ") {
				back = 7
			}
			return d.Today.AddDate(0, 0, -back), nil
		}
	}
	if m := iso().FindStringSubmatch(t); m != nil {
		return d.date(s, m[1], m[3], m[4])
	}
	if m := dotted().FindStringSubmatch(t); m != nil {
		return d.date(s, m[3], m[2], m[1])
	}
	if m := strokes().FindStringSubmatch(t); m != nil && (m[2] == "/" || m[4] != "") {
		return d.either(s, m[1], m[3], m[4])
	}
	if m := dayMonth().FindStringSubmatch(t); m != nil {
		if month := monthNamed(m[2]); month > 0 {
			return d.date(s, m[3], strconv.Itoa(month), m[1])
		}
	}
	if m := monthDay().FindStringSubmatch(t); m != nil {
		if month := monthNamed(m[1]); month > 0 {
			return d.date(s, m[3], strconv.Itoa(month), m[2])
		}
	}
	return time.Time{}, fmt.Errorf("%s: want %s", quote(s), DayForms)
}

// Date reads a date with its year, as in a table: 2026-07-14, 14.7.2026, 25/7/2026, also with the time 00:00 that
// spreadsheets add. Where day
// and month could be exchanged, it is refused unless d.Order says which comes first. Today
// and Ahead do not matter. The error is one line and quotes s.
func (d Days) Date(s string) (time.Time, error) {
	t := strings.TrimSpace(s)
	if m := midnight().FindStringSubmatch(t); m != nil {
		t = m[1]
	}
	if m := iso().FindStringSubmatch(t); m != nil {
		return d.date(s, m[1], m[3], m[4])
	}
	if m := dotted().FindStringSubmatch(t); m != nil && m[3] != "" {
		return d.date(s, m[3], m[2], m[1])
	}
	if m := strokes().FindStringSubmatch(t); m != nil && m[4] != "" {
		return d.either(s, m[1], m[3], m[4])
	}
	if serial().MatchString(t) {
		return time.Time{}, fmt.Errorf("%s: a date as a spreadsheet counts days; format the column as dates such as 2026-07-14 "+
			"before you save it", quote(s))
	}
	return time.Time{}, fmt.Errorf("%s: want a date such as 2026-07-14", quote(s))
}

// steps returns the number of days in a match of ago or hence.
func steps(m []string) int {
	n, unit := m[1], m[2]
	if n == "" {
		n, unit = m[3], m[4]
	}
	days, err := strconv.Atoi(n)
	if err != nil {
		days = map[string]int{"a": 1, "an": 1, "one": 1, "two": 2, "three": 3}[n]
	}
	if strings.HasPrefix(unit, "w") {
		days *= 7
	}
	return days
}

// monthNamed returns the month that an English name or its first three or more letters mean; 0: none.
func monthNamed(s string) int {
	for m := time.January; m <= time.December; m++ {
		if strings.HasPrefix(strings.ToLower(m.String()), s) || m == time.September && s == "sept" {
			return int(m)
		}
	}
	return 0
}

// either reads a date in which day or month may come first.
func (d Days) either(s, a, b, year string) (time.Time, error) {
	first, err1 := d.date(s, year, b, a)  // the day first
	second, err2 := d.date(s, year, a, b) // the month first
	switch {
	case err1 != nil && err2 != nil:
		if d.Order == MonthFirst {
			return time.Time{}, err2
		}
		return time.Time{}, err1
	case err1 != nil:
		return second, nil
	case err2 != nil || first.Equal(second) || d.Order == DayFirst:
		return first, nil
	case d.Order == MonthFirst:
		return second, nil
	}
	return time.Time{}, fmt.Errorf("%s is %s or %s; write %s or %s", quote(s), first.Format("2 January"), second.Format("2 January"),
		first.Format(time.DateOnly), second.Format(time.DateOnly))
}

// date returns the day in that year; without a year, the day nearest to today that may be meant.
func (d Days) date(s, year, month, day string) (time.Time, error) {
	m, _ := strconv.Atoi(month)
	n, _ := strconv.Atoi(day)
	in := func(y int) (time.Time, bool) {
		t := time.Date(y, time.Month(m), n, 0, 0, 0, 0, time.UTC)
		return t, m >= 1 && m <= 12 && n >= 1 && t.Day() == n
	}
	years := []int{d.Today.Year(), d.Today.Year() - 1, d.Today.Year() + 1}
	if year != "" {
		y, _ := strconv.Atoi(year)
		if len(year) == 2 {
			y += 2000
		}
		years = []int{y}
	}
	const half = 183
	real := false
	for _, y := range years {
		t, ok := in(y)
		real = real || ok
		days := int(t.Sub(d.Today).Hours() / 24)
		near := d.Ahead && days <= half && days >= -half || !d.Ahead && days <= 0 && (days >= -half || y >= d.Today.Year())
		if ok && (near || year != "") {
			return t, nil
		}
	}
	if real {
		return time.Time{}, fmt.Errorf("%s: say of which year, such as %02d.%02d.%d", quote(s), n, m, d.Today.Year()-1)
	}
	return time.Time{}, fmt.Errorf("%s: there is no such day; want a date such as 2026-07-14", quote(s))
}

// Order says whether day or month comes first where both are numbers with slashes between them.
type Order int

// The orders. With Unclear, 12/7/2026 is refused, and 25/7/2026 is not.
const (
	Unclear Order = iota
	DayFirst
	MonthFirst
)

// OrderOf returns the order of the locale that the environment names: the first of LC_ALL,
// LC_TIME and LANG that is set. getenv is [os.Getenv] or like it.
func OrderOf(getenv func(string) string) Order {
	for _, name := range [3]string{"LC_ALL", "LC_TIME", "LANG"} {
		if v := getenv(name); v != "" {
			return OrderOfLocale(v)
		}
	}
	return Unclear
}

// OrderOfLocale returns the order of a locale such as de_DE.UTF-8 or de-DE.
func OrderOfLocale(name string) Order {
	name, _, _ = strings.Cut(name, ".")
	name, _, _ = strings.Cut(name, "@")
	language, land, ok := strings.Cut(strings.ReplaceAll(name, "-", "_"), "_")
	language, land = strings.ToLower(language), strings.ToUpper(land)
	whole := " " + language + "_" + land + " "
	switch {
	case !ok || len(land) != 2:
		return Unclear
	case whole == " en_US ":
		return MonthFirst
	case strings.Contains(dayFirst, " "+land+" ") && !strings.Contains(yearFirst, whole):
		return DayFirst
	}
	return Unclear
}

// dayFirst are the countries whose locales write the day before the month; yearFirst are locales of these that do not.
//
// Source: d_fmt of the locales of the GNU C Library 2.36, without countries where the Unicode
// CLDR differs (Puerto Rico, South Africa; from memory).
const (
	dayFirst = " AD AE AG AL AR AU AW AZ BA BD BE BG BH BO BR BW BY CD CH CL CO CR CU CW CY CZ DE DJ DK DO DZ EC EE EG ER ES ET FI FJ FO FR " +
		"GB GR GT HN HR HT ID IE IL IN IQ IS IT JO KE KG KH KW KZ LA LB LI LU LY MA ME MG MK MT MU MV MX MY NG NI NL NO NU NZ OM PA PE PG " +
		"PK PL PT PY QA RO RS RU RW SA SC SD SI SK SN SO SS SV SY TH TJ TM TN TO TR TZ UA UG UY UZ VE VN VU WS YE ZW "
	yearFirst = " bo_IN brx_IN ce_RU csb_PL de_BE de_LU en_DK eu_ES eu_FR ks_IN mhr_RU sah_RU se_NO wae_CH "
)
