package written

import "strings"

// Order is which of day and month comes first where both are numbers with strokes
// between them.
type Order int

// The orders. Where it is not clear, 12/7/2026 is refused and 25/7/2026 is not.
const (
	Unclear Order = iota
	DayFirst
	MonthFirst
)

// OrderOf is that of the locale that the environment names: of LC_ALL, LC_TIME and
// LANG the first that says anything. getenv is as [os.Getenv].
func OrderOf(getenv func(string) string) Order {
	for _, name := range [3]string{"LC_ALL", "LC_TIME", "LANG"} {
		if v := getenv(name); v != "" {
			return OrderOfLocale(v)
		}
	}
	return Unclear
}

// OrderOfLocale is that of a locale, as in de_DE.UTF-8 or de-DE.
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

// dayFirst are the lands whose locales write the day before the month, but for those of
// yearFirst.
//
// Source: d_fmt of the locales of the GNU C Library 2.36, left out where the Unicode
// CLDR is of another mind (Puerto Rico, South Africa; from memory).
const (
	dayFirst = " AD AE AG AL AR AU AW AZ BA BD BE BG BH BO BR BW BY CD CH CL CO CR CU CW CY CZ DE DJ DK DO DZ EC EE EG ER ES ET FI FJ FO FR " +
		"GB GR GT HN HR HT ID IE IL IN IQ IS IT JO KE KG KH KW KZ LA LB LI LU LY MA ME MG MK MT MU MV MX MY NG NI NL NO NU NZ OM PA PE PG " +
		"PK PL PT PY QA RO RS RU RW SA SC SD SI SK SN SO SS SV SY TH TJ TM TN TO TR TZ UA UG UY UZ VE VN VU WS YE ZW "
	yearFirst = " bo_IN brx_IN ce_RU csb_PL de_BE de_LU en_DK eu_ES eu_FR ks_IN mhr_RU sah_RU se_NO wae_CH "
)
