package exchange

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"hueward/selection/written"
)

// Type is the type of a column's fields.
type Type int

// The types of a column, and what [Column.Parse] makes of a field; of an empty one it makes nil whatever the type.
const (
	Text  Type = iota // string
	Words             // []string: names separated by spaces
	Day               // string: an ISO 8601 date
	Days              // []string: dates separated by spaces
	Stamp             // string: an RFC 3339 time
	Count             // int64, 0 or more
	Real              // float64
	YesNo             // int64: 1 of "yes", 0 of "no"
)

// Column is one column of a table.
type Column struct {
	Name string // in the first line; compared without regard to case
	Type Type
	// Clean turns a text, each word, or a day's text into how it is kept, or says what is wrong with it; nil: as it is.
	Clean func(string) (string, error)
}

// Parse returns the field as a value of the column's type; order is that of day and month in a date such as 12/7/2026.
func (c *Column) Parse(f Field, order written.Order) (any, error) {
	s := f.Text
	if c.Type != Text {
		s = strings.TrimSpace(s)
	}
	if s == "" {
		return nil, nil
	}
	switch c.Type {
	case Text, Day, Stamp:
		s, err := checkTime(c.Type, s, order)
		if err == nil && c.Clean != nil {
			s, err = c.Clean(s)
		}
		if err != nil {
			return nil, err
		}
		return s, nil
	case Words, Days:
		words := strings.Fields(s)
		for i, w := range words {
			var err error
			if c.Type == Days {
				w, err = checkTime(Day, w, order)
			}
			if err == nil && c.Clean != nil {
				w, err = c.Clean(w)
			}
			if words[i] = w; err != nil {
				return nil, err
			}
		}
		return words, nil
	case Count:
		n, err := strconv.ParseInt(s, 10, 64)
		if err != nil || n < 0 || n > 1e15 || s[0] == '+' || s[0] == '-' {
			return nil, fmt.Errorf("%s is not a whole number of 0 or more", Quote(s))
		}
		return n, nil
	case YesNo:
		switch strings.ToLower(s) {
		case "yes", "1", "true":
			return int64(1), nil
		case "no", "0", "false":
			return int64(0), nil
		}
		return nil, fmt.Errorf("%s: want yes or no", Quote(s))
	}
	return written.Number(s)
}

// checkTime returns a day or a stamp as it is kept, or what is wrong with it; other types
// are fine. A day may be written as people do, if that is clear: 14.7.2026.
func checkTime(t Type, s string, order written.Order) (string, error) {
	var v time.Time
	var err error
	switch t {
	case Day:
		if v, err = (written.Days{Order: order}).Date(s); err != nil {
			return s, err
		}
		s = v.Format(time.DateOnly)
	case Stamp:
		if v, err = time.Parse(time.RFC3339Nano, s); err != nil {
			return s, fmt.Errorf("%s: want a time such as 2026-07-14T09:30:00Z", Quote(s))
		}
	default:
		return s, nil
	}
	if y := v.Year(); y < 1900 || y >= 2200 {
		return s, fmt.Errorf("%s: its year is not between 1900 and 2199", Quote(s))
	}
	return s, nil
}

// Format returns v, a value as returned by [Column.Parse], as the text of a field; nil gives an empty text.
func (c *Column) Format(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case int64:
		if c.Type == YesNo {
			return [2]string{"no", "yes"}[min(max(v, 0), 1)]
		}
		return strconv.FormatInt(v, 10)
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	case []string:
		return strings.Join(v, " ")
	}
	return ""
}
