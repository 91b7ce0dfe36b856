package transfer

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"hueward/colorimg"
	"hueward/selection/book"
	"hueward/selection/book/exchange"
	"hueward/selection/book/naming"
	"hueward/selection/book/pathdata"
	"hueward/selection/book/record"
)

// The book as tables of text: what [Export] writes and [Import] reads.
// Rows name each other by what the grower calls them, never by number.

// tableKind is one of those tables, and where its rows lie in the book.
type tableKind struct {
	exchange.Kind
	table   string   // of the database
	one     string   // one row, in words
	many    string   // several
	key     []string // columns that tell a row from all others; nil: nothing does, and the same row may come twice
	must    []string // columns that each row fills in
	keyed   bool     // the database has a column key beside the name
	columns []kindColumn
	places  map[string]int // of the columns, by name
}

// kindColumn is a column of such a table, and of the database's.
type kindColumn struct {
	exchange.Column
	sql   string // column of the database; empty: settled by hand
	ref   string // kind whose row it names
	query string // how it is read, where that is not sql alone; t is the row
	or    any    // kept where a new row leaves it empty; nil: nothing
	stamp bool   // when it was entered: new rows without it get the book's clock, and it tells no two rows apart
}

// kinds are the tables in the order in which they are written.
var kinds = []*tableKind{
	lineKind, seasonKind, targetKind, settingKind, cropKind, cropValueKind, founderGroupKind, traitKind,
	plantKind, pollenKind, crossKind, headKind, packetKind, germinationKind, seedOutKind, sowingKind, scoreKind,
	cameraKind, photoKind, readingKind,
}

func init() {
	for _, k := range kinds {
		k.places = map[string]int{}
		for i, c := range k.columns {
			k.Columns, k.places[c.Name] = append(k.Columns, c.Column), i
		}
	}
}

// kindNamed returns the kind of that name; nil: there is none.
func kindNamed(name string) *tableKind {
	i := slices.IndexFunc(kinds, func(k *tableKind) bool { return strings.EqualFold(k.Name, name) })
	if i < 0 {
		return nil
	}
	return kinds[i]
}

// TableNames are the names of the tables that a book is exported as.
func TableNames() []string {
	var names []string
	for _, k := range kinds {
		names = append(names, k.Name)
	}
	return names
}

// at returns the index of a column; -1: there is none.
func (k *tableKind) at(name string) int {
	if i, ok := k.places[name]; ok {
		return i
	}
	return -1
}

// The columns that many kinds have.

func named(name string, clean func(string) (string, error)) kindColumn {
	return kindColumn{Column: exchange.Column{Name: name, Clean: clean}, sql: "name"}
}

func refTo(name, kind, sql string) kindColumn {
	clean := naming.CleanID
	switch kind {
	case "lines":
		clean = naming.CleanLine
	case "traits":
		clean = cleanTraitName
	case "photos":
		clean = cleanSum
	}
	return kindColumn{Column: exchange.Column{Name: name, Clean: clean}, sql: sql, ref: kind}
}

func textColumn(name string) kindColumn {
	return kindColumn{Column: exchange.Column{Name: name}, sql: name, or: ""}
}

// labelColumn is a text that names something.
func labelColumn(name string, clean func(string) (string, error)) kindColumn {
	c := textColumn(name)
	c.Clean = clean
	return c
}

func typed(name string, t exchange.Type, sql string) kindColumn {
	return kindColumn{Column: exchange.Column{Name: name, Type: t}, sql: sql}
}

// numberColumn is a column that is never NULL.
func numberColumn(name string, t exchange.Type, sql string, or any) kindColumn {
	return kindColumn{Column: exchange.Column{Name: name, Type: t}, sql: sql, or: or}
}

// oneOf is a column of a few words.
func oneOf(name string, or any, words ...string) kindColumn {
	return kindColumn{Column: exchange.Column{Name: name, Clean: func(s string) (string, error) {
		for _, w := range words {
			if strings.EqualFold(strings.TrimSpace(s), w) {
				return w, nil
			}
		}
		return "", fmt.Errorf("%s: want one of %s", exchange.Quote(s), strings.Join(words, ", "))
	}}, sql: name, or: or}
}

// jsonColumn is a list or an object, as JSON text of the shape of T.
func jsonColumn[T any](name string, or any) kindColumn {
	return checkedColumn(name, or, func(s string) error {
		var v T
		return json.Unmarshal([]byte(s), &v)
	})
}

var outlineColumn = checkedColumn("outline", nil, pathdata.Check)

// checkedColumn is JSON text that check finds no fault with.
func checkedColumn(name string, or any, check func(string) error) kindColumn {
	return kindColumn{Column: exchange.Column{Name: name, Clean: func(s string) (string, error) {
		if check(s) != nil || tooDeep(s) {
			return "", fmt.Errorf("%s is not JSON as hueward writes it here; leave it as it was exported", exchange.Quote(s))
		}
		return s, nil
	}}, sql: name, or: or}
}

// tooDeep reports whether lists and objects lie within each other deeper than any
// that hueward writes, and perhaps deeper than SQLite's JSON functions go.
func tooDeep(s string) bool {
	depth, quoted := 0, false
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c == '"':
			quoted = !quoted
		case quoted && c == '\\':
			i++
		case quoted:
		case c == '[' || c == '{':
			if depth++; depth > 100 {
				return true
			}
		case c == ']' || c == '}':
			depth--
		}
	}
	return false
}

var addedAt = kindColumn{Column: exchange.Column{Name: "added_at", Type: exchange.Stamp}, sql: "added_at", stamp: true}

func statusWords() []string { return words(book.Statuses) }

// words are the values of a type of text.
func words[T ~string](values []T) (out []string) {
	for _, v := range values {
		out = append(out, string(v))
	}
	return out
}

func cleanTraitName(s string) (string, error) {
	t, err := record.CleanTrait(book.Trait{Name: s})
	return t.Name, err
}

// cleanSum checks a photo's SHA-256.
func cleanSum(s string) (string, error) {
	s = strings.ToLower(strings.TrimSpace(s))
	if len(s) != 64 || strings.Trim(s, "0123456789abcdef") != "" {
		return "", fmt.Errorf("%s is not a photo's SHA-256, which has 64 characters 0 to 9 and a to f", exchange.Quote(s))
	}
	return s, nil
}

// cleanCamera is a camera's name as SetCameraModel keeps it.
func cleanCamera(s string) (string, error) {
	if s = strings.TrimSpace(s); s == "" {
		return "", errors.New("no camera is named")
	}
	return s, nil
}

func cleanWord(s string) (string, error) {
	if s = strings.TrimSpace(s); s == "" {
		return "", errors.New("is empty")
	}
	return s, nil
}

var (
	lineKind = &tableKind{
		Kind: exchange.Kind{Name: "lines", Need: []string{"line"}}, table: "line", one: "line", many: "lines", key: []string{"line"}, keyed: true,
		columns: []kindColumn{named("line", naming.CleanLine), textColumn("crop"), textColumn("note"), addedAt},
	}
	seasonKind = &tableKind{
		Kind: exchange.Kind{Name: "seasons", Need: []string{"season"}}, table: "season", one: "season", many: "seasons", key: []string{"season"},
		keyed:   true,
		columns: []kindColumn{named("season", naming.CleanID)},
	}
	targetKind = &tableKind{
		must: []string{"line", "L", "a", "b", "within"},
		Kind: exchange.Kind{Name: "targets", Need: []string{"line", "L", "a", "b", "within"}}, table: "target", one: "target", many: "targets",
		columns: []kindColumn{
			refTo("line", "lines", "line_id"), oneOf("aim", string(book.Move), string(book.Move), string(book.Hold)),
			typed("L", exchange.Real, "l"), typed("a", exchange.Real, "a"), typed("b", exchange.Real, "b"),
			typed("within", exchange.Real, "within"), textColumn("source"), numberColumn("measured", exchange.YesNo, "measured", int64(0)),
			typed("second_L", exchange.Real, "second_l"), typed("second_a", exchange.Real, "second_a"),
			typed("second_b", exchange.Real, "second_b"),
			{Column: exchange.Column{Name: "set_at", Type: exchange.Stamp}, sql: "set_at", stamp: true},
		},
	}
	cropValueKind = &tableKind{
		Kind: exchange.Kind{Name: "crop_values", Need: []string{"crop", "field", "value"}}, table: "crop_value", one: "crop value",
		many: "crop values", key: []string{"crop", "field"},
		columns: []kindColumn{
			{Column: exchange.Column{Name: "crop", Clean: cleanWord}, sql: "crop"},
			{Column: exchange.Column{Name: "field", Clean: cleanWord}, sql: "field"},
			textColumn("value"),
		},
	}
	founderGroupKind = &tableKind{
		Kind: exchange.Kind{Name: "founder_groups", Need: []string{"founder_group", "inbreeding"}}, table: "founder_group", one: "founder group",
		many: "founder groups", key: []string{"founder_group"}, keyed: true,
		columns: []kindColumn{named("founder_group", naming.CleanLine), typed("inbreeding", exchange.Real, "inbreeding"), textColumn("note"),
			addedAt},
	}
	traitKind = &tableKind{
		Kind: exchange.Kind{Name: "traits", Need: []string{"trait", "unit"}}, table: "trait", one: "trait", many: "traits",
		key: []string{"trait"}, keyed: true,
		columns: []kindColumn{
			named("trait", cleanTraitName), textColumn("unit"), typed("low", exchange.Real, "low"), typed("high", exchange.Real, "high"),
			oneOf("better", "", "more", "less"), jsonColumn[[]string]("words", "[]"), textColumn("note"),
		},
	}
	plantKind = &tableKind{
		must: []string{"line", "season"},
		Kind: exchange.Kind{Name: "plants", Need: []string{"plant"}}, table: "plant", one: "plant", many: "plants", key: []string{"plant"},
		keyed: true,
		columns: []kindColumn{
			named("plant", naming.CleanID), refTo("line", "lines", "line_id"), refTo("season", "seasons", "season_id"),
			refTo("seed_parent", "plants", "seed_parent_id"), refTo("pollen_parent", "plants", "pollen_parent_id"),
			labelColumn("founder_group", naming.CleanLine), typed("founder_inbreeding", exchange.Real, "founder_inbreeding"),
			oneOf("status", string(book.Growing), statusWords()...), textColumn("note"), refTo("sowing", "sowings", "sowing_id"), addedAt,
			refTo("clone_of", "plants", "clone_of_id"), oneOf("cloned_by", "", words(book.ClonesBy)...), labelColumn("place", naming.CleanLabel),
		},
	}
	crossKind = &tableKind{
		must: []string{"season", "seed_parent"},
		Kind: exchange.Kind{Name: "crosses", Need: []string{"cross", "seed_parent"}}, table: "cross", one: "cross", many: "crosses",
		key: []string{"cross"}, keyed: true,
		columns: []kindColumn{
			named("cross", naming.CleanID), refTo("season", "seasons", "season_id"),
			refTo("seed_parent", "plants", "seed_parent_id"), refTo("pollen_parent", "plants", "pollen_parent_id"),
			typed("made_on", exchange.Day, "made_on"), typed("seeds", exchange.Count, "seeds"), textColumn("note"),
			refTo("line", "lines", "line_id"), oneOf("kind", nil, string(book.KindCross), string(book.KindSelf), string(book.KindSib),
				string(book.KindOpen)), addedAt, refTo("pollen", "pollen", "pollen_id"),
		},
	}
	headKind = &tableKind{
		must: []string{"season"},
		Kind: exchange.Kind{Name: "heads", Need: []string{"head"}}, table: "head", one: "head", many: "heads", key: []string{"head"}, keyed: true,
		columns: []kindColumn{
			named("head", naming.CleanID), refTo("plant", "plants", "plant_id"), refTo("cross", "crosses", "cross_id"), refTo("season", "seasons",
				"season_id"),
			typed("bagged", exchange.Day, "bagged_on"),
			{Column: exchange.Column{Name: "pollinated", Type: exchange.Days}, query: "(SELECT group_concat(day, ' ' ORDER BY day) FROM " +
				"pollination WHERE head_id = t.id)"},
			typed("stigmas_dry", exchange.Day, "stigmas_dry_on"), typed("harvested", exchange.Day, "harvested_on"),
			typed("seeds", exchange.Count, "seeds"), typed("lost", exchange.Day, "lost_on"), textColumn("note"), typed("number", exchange.Count,
				"number"),
			listed(jsonColumn[map[string]string]("pollination_notes", nil),
				"(SELECT nullif(json_group_object(day, note ORDER BY day), '{}') FROM pollination WHERE head_id = t.id AND note <> '')"),
			addedAt, typed("emasculated", exchange.Day, "emasculated_on"),
		},
	}
	packetKind = &tableKind{
		Kind: exchange.Kind{Name: "packets", Need: []string{"packet", "season"}}, table: "packet", one: "packet", many: "packets",
		key: []string{"packet"}, keyed: true,
		columns: []kindColumn{
			named("packet", naming.CleanID), refTo("season", "seasons", "season_id"), refTo("line", "lines", "line_id"), refTo("cross", "crosses",
				"cross_id"),
			{Column: exchange.Column{Name: "heads", Type: exchange.Words, Clean: naming.CleanID},
				query: "(SELECT group_concat(h.name, ' ' ORDER BY x.id) FROM packet_head x JOIN head h ON h.id = x.head_id WHERE x.packet_id = t.id)"},
			labelColumn("founder_group", naming.CleanLine), typed("seeds", exchange.Count, "seeds"),
			typed("made", exchange.Day, "made_on"), typed("dried",
				exchange.Day, "dried_on"),
			labelColumn("place", naming.CleanLabel), labelColumn("paper", naming.CleanLabel), textColumn("note"), addedAt,
			typed("grams", exchange.Real, "grams"), numberColumn("seeds_by_weight", exchange.YesNo, "seeds_by_weight", int64(0)),
		},
	}
	germinationKind = &tableKind{
		must: []string{"packet", "started", "seeds"},
		Kind: exchange.Kind{Name: "germination_tests", Need: []string{"packet", "started", "seeds"}}, table: "germination_test",
		one: "germination test", many: "germination tests",
		columns: []kindColumn{
			refTo("packet", "packets", "packet_id"), typed("started", exchange.Day, "started_on"), typed("seeds", exchange.Count, "seeds"),
			typed("read", exchange.Day, "read_on"), typed("sprouted", exchange.Count, "sprouted"), textColumn("note"),
		},
	}
	sowingKind = &tableKind{
		must: []string{"packet", "season", "seeds"},
		Kind: exchange.Kind{Name: "sowings", Need: []string{"sowing", "packet", "seeds"}}, table: "sowing", one: "sowing", many: "sowings",
		key: []string{"sowing"}, keyed: true,
		columns: []kindColumn{
			named("sowing", naming.CleanID), refTo("packet", "packets", "packet_id"), refTo("line", "lines", "line_id"), refTo("season", "seasons",
				"season_id"),
			typed("sown", exchange.Day, "sown_on"), typed("seeds", exchange.Count, "seeds"), textColumn("note"), addedAt,
			typed("grams", exchange.Real, "grams"), typed("planted_out", exchange.Day, "planted_out_on"),
		},
	}
	scoreKind = &tableKind{
		must: []string{"plant", "trait", "value"},
		Kind: exchange.Kind{Name: "scores", Need: []string{"plant", "trait", "value"}}, table: "score", one: "score", many: "scores",
		columns: []kindColumn{
			refTo("plant", "plants", "plant_id"), refTo("trait", "traits", "trait_id"),
			// Not a number alone: the trait's words are taken, too.
			{Column: exchange.Column{Name: "value", Clean: cleanWord}, sql: "value"},
			typed("date", exchange.Day, "scored_on"), textColumn("note"), addedAt,
		},
	}
	cameraKind = &tableKind{
		must: []string{"model"},
		Kind: exchange.Kind{Name: "camera_models", Need: []string{"camera", "model"}}, table: "camera_model", one: "camera model",
		many: "camera models", key: []string{"camera"}, keyed: true,
		columns: []kindColumn{
			{Column: exchange.Column{Name: "camera", Clean: cleanCamera}, sql: "camera"}, textColumn("kind"), numberColumn("patches",
				exchange.Count, "patches", int64(0)),
			numberColumn("loo_de", exchange.Real, "loo_de", 0.0), textColumn("photo"),
			{Column: exchange.Column{Name: "learnt_at", Type: exchange.Stamp}, sql: "learnt_at", stamp: true}, jsonColumn[json.RawMessage]("model",
				nil),
		},
	}
	photoKind = &tableKind{
		must: []string{"season", "path"},
		Kind: exchange.Kind{Name: "photos", Need: []string{"sha256", "path"}}, table: "photo", one: "photo", many: "photos",
		key: []string{"sha256"},
		columns: []kindColumn{
			{Column: exchange.Column{Name: "sha256", Clean: cleanSum}, sql: "sha256"},
			refTo("plant", "plants", "plant_id"), refTo("season", "seasons", "season_id"),
			{Column: exchange.Column{Name: "path", Clean: naming.CheckPath}, sql: "path"}, textColumn("name"),
			numberColumn("bytes", exchange.Count, "bytes", int64(0)), typed("taken_at", exchange.Stamp, "taken_at"), textColumn("camera"),
			numberColumn("width", exchange.Count, "width", int64(0)), numberColumn("height", exchange.Count, "height", int64(0)), addedAt,
		},
	}
	readingKind = &tableKind{
		Kind: exchange.Kind{Name: "readings", Need: []string{"plant", "L", "a", "b", "source"}}, table: "reading", one: "reading",
		many: "readings",
		columns: []kindColumn{
			withQuery(refTo("plant", "plants", "plant_id"), "(SELECT name FROM plant WHERE id = coalesce(t.plant_id, (SELECT plant_id FROM "+
				"photo WHERE id = t.photo_id)))"),
			withQuery(refTo("season", "seasons", "season_id"), "(SELECT name FROM season WHERE id = coalesce(t.season_id, (SELECT season_id "+
				"FROM photo WHERE id = t.photo_id)))"),
			{Column: exchange.Column{Name: "date", Type: exchange.Day}, query: "substr(coalesce((SELECT taken_at FROM photo WHERE id = " +
				"t.photo_id), t.measured_at), 1, 10)"},
			typed("L", exchange.Real, "l"), typed("a", exchange.Real, "a"), typed("b", exchange.Real, "b"), numberColumn("se", exchange.Real,
				"precision_de", 0.0),
			{Column: exchange.Column{Name: "source", Clean: cleanWord}, sql: "source"}, refTo("photo", "photos", "photo_id"),
			typed("measured_at", exchange.Stamp, "measured_at"), numberColumn("method", exchange.Count, "method", int64(0)),
			oneOf("status", string(colorimg.OK), string(colorimg.OK), string(colorimg.Check), string(colorimg.Refused)), textColumn("reason"),
			typed("trueness", exchange.Real, "trueness_de"), textColumn("hex"), textColumn("colour_name"),
			typed("se_L", exchange.Real, "se_l"), typed("se_a", exchange.Real, "se_a"), typed("se_b", exchange.Real, "se_b"),
			typed("spread_L", exchange.Real, "spread_l"), typed("spread_a", exchange.Real, "spread_a"), typed("spread_b", exchange.Real, "spread_b"),
			jsonColumn[[]colorimg.Share]("colours", "[]"), jsonColumn[[]colorimg.Flag]("flags", "[]"), textColumn("profile"),
			numberColumn("card_found", exchange.YesNo, "card_found", int64(0)), textColumn("card_kind"),
			jsonColumn[*[4]colorimg.Point]("card_corners", nil),
			numberColumn("gain_r", exchange.Real, "gain_r", 1.0), numberColumn("gain_g", exchange.Real, "gain_g", 1.0), numberColumn("gain_b",
				exchange.Real, "gain_b", 1.0),
			numberColumn("cct", exchange.Real, "cct", 0.0), numberColumn("ev", exchange.Real, "ev", 0.0), textColumn("camera_model"),
			numberColumn("petal_pixels", exchange.Count, "petal_pixels", int64(0)), numberColumn("petal_share", exchange.Real, "petal_share", 0.0),
			typed("bloom_x", exchange.Real, "bloom_x"), typed("bloom_y", exchange.Real, "bloom_y"),
			numberColumn("diameter_px", exchange.Real, "diameter_px", 0.0), numberColumn("diameter_mm", exchange.Real, "diameter_mm", 0.0),
			outlineColumn, jsonColumn[[]colorimg.Ring]("radial", "[]"), jsonColumn[[]colorimg.Zone]("zones", "[]"),
			jsonColumn[colorimg.TagRead]("tag", nil), jsonColumn[colorimg.Correction]("correction", nil),
		},
	}
)

// listed is a column that stands for rows of another table.
func listed(c kindColumn, query string) kindColumn {
	c.sql, c.query = "", query
	return c
}

func withQuery(c kindColumn, query string) kindColumn {
	c.query = query
	return c
}
