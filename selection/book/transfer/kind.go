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
	table     string   // of the database
	one, many string   // rows, in words
	key       []string // columns that tell a row from all others; nil: nothing does, and the same row may come twice
	keyed     bool     // the database has a column key beside the name
	must      []string // columns that each row fills in
	columns   []kindColumn
	places    map[string]int // of the columns, by name
}

// kind is the table of that name, of rows of a table of the database; need are the columns that a file has in any
// case. Lists of columns are words with spaces between.
func kind(name, table, need string, columns ...kindColumn) *tableKind {
	k := &tableKind{Kind: exchange.Kind{Name: name, Need: strings.Fields(need)}, table: table, columns: columns, places: map[string]int{},
		one: strings.ReplaceAll(table, "_", " "), many: strings.ReplaceAll(name, "_", " ")}
	for i, c := range columns {
		k.Columns, k.places[c.Name] = append(k.Columns, c.Column), i
	}
	return k
}

// by says which columns tell a row from all others, where no column key does.
func (k *tableKind) by(columns string) *tableKind {
	k.key = strings.Fields(columns)
	return k
}

// named says that rows have a name, the first column, and a key beside it.
func (k *tableKind) named() *tableKind {
	k.key, k.keyed = []string{k.columns[0].Name}, true
	return k
}

// fills says which columns each row fills in.
func (k *tableKind) fills(columns string) *tableKind {
	k.must = strings.Fields(columns)
	return k
}

// words says what one row and several are called.
func (k *tableKind) words(one, many string) *tableKind {
	k.one, k.many = one, many
	return k
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

func refTo(name, kind string) kindColumn {
	clean := naming.CleanID
	switch kind {
	case "lines":
		clean = naming.CleanLine
	case "traits":
		clean = cleanTraitName
	case "photos":
		clean = cleanSum
	}
	return kindColumn{Column: exchange.Column{Name: name, Clean: clean}, sql: name + "_id", ref: kind}
}

// text is a column of text that is never NULL; clean, nil or one, is how it is kept.
func text(name string, clean ...func(string) (string, error)) kindColumn {
	c := kindColumn{Column: exchange.Column{Name: name}, sql: name, or: ""}
	if len(clean) > 0 {
		c.Clean = clean[0]
	}
	return c
}

// word is a column of text that is never empty.
func word(name string, clean func(string) (string, error)) kindColumn {
	return kindColumn{Column: exchange.Column{Name: name, Clean: clean}, sql: name}
}

// typed is a column that may be NULL; sql, where given, is its name in the database.
func typed(t exchange.Type, name string, sql ...string) kindColumn {
	return kindColumn{Column: exchange.Column{Name: name, Type: t}, sql: append(sql, name)[0]}
}

func real(name string, sql ...string) kindColumn  { return typed(exchange.Real, name, sql...) }
func count(name string, sql ...string) kindColumn { return typed(exchange.Count, name, sql...) }
func day(name string, sql ...string) kindColumn   { return typed(exchange.Day, name, sql...) }

// orElse is the column with what is kept where a new row leaves it empty.
func (c kindColumn) orElse(v any) kindColumn {
	c.or = v
	return c
}

// read is the column with how it is read.
func (c kindColumn) read(query string) kindColumn {
	c.query = query
	return c
}

// listed is a column that stands for rows of another table.
func (c kindColumn) listed(query string) kindColumn {
	c.sql, c.query = "", query
	return c
}

// stamped is when something was entered.
func stamped(name string) kindColumn {
	c := typed(exchange.Stamp, name)
	c.stamp = true
	return c
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

// statusColumn is what has become of a plant, by its name or by its word elsewhere: "passed" is "dropped" there.
func statusColumn() kindColumn {
	var words []string
	for _, s := range record.Statuses {
		words = append(words, s.Word())
	}
	c := oneOf("status", string(record.Growing), words...)
	wrong := c.Clean
	c.Clean = func(s string) (string, error) {
		if is := record.StatusOf(strings.TrimSpace(s)); is != "" {
			return string(is), nil
		}
		return wrong(s)
	}
	return c
}

// jsonColumn is a list or an object, as JSON text of the shape of T.
func jsonColumn[T any](name string, or any) kindColumn {
	return checkedColumn(name, or, func(s string) error {
		var v T
		return json.Unmarshal([]byte(s), &v)
	})
}

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
	lineKind   = kind("lines", "line", "line", named("line", naming.CleanLine), text("crop"), text("note"), stamped("added_at")).named()
	seasonKind = kind("seasons", "season", "season", named("season", naming.CleanID)).named()
	targetKind = kind("targets", "target", "line L a b within",
		refTo("line", "lines"), oneOf("aim", string(book.Move), string(book.Move), string(book.Hold)),
		real("L", "l"), real("a"), real("b"), real("within"), text("source"), typed(exchange.YesNo, "measured").orElse(int64(0)),
		real("second_L", "second_l"), real("second_a"), real("second_b"), stamped("set_at")).fills("line L a b within")
	settingKind = kind("settings", "setting", "setting value",
		kindColumn{Column: exchange.Column{Name: "setting", Clean: cleanWord}, sql: "name"}, text("value")).by("setting")
	cropKind = kind("crops", "crop", "crop title base",
		named("crop", cleanCrop), word("title", naming.CleanLabel), word("base", cleanWord), stamped("added_at")).named().fills("title base")
	cropValueKind = kind("crop_values", "crop_value", "crop field value",
		word("crop", cleanWord), word("field", cleanWord), text("value")).by("crop field")
	founderGroupKind = kind("founder_groups", "founder_group", "founder_group inbreeding",
		named("founder_group", naming.CleanLine), real("inbreeding"), text("note"), stamped("added_at")).named()
	traitKind = kind("traits", "trait", "trait unit",
		named("trait", cleanTraitName), text("unit"), real("low"), real("high"), oneOf("better", "", "more", "less"),
		jsonColumn[[]string]("words", "[]"), text("note")).named()
	plantKind = kind("plants", "plant", "plant",
		named("plant", naming.CleanID), refTo("line", "lines"), refTo("season", "seasons"),
		refTo("seed_parent", "plants"), refTo("pollen_parent", "plants"),
		text("founder_group", naming.CleanLine), real("founder_inbreeding"),
		statusColumn(), text("note"), refTo("sowing", "sowings"), stamped("added_at"),
		refTo("clone_of", "plants"), oneOf("cloned_by", "", words(book.ClonesBy)...), text("place", naming.CleanLabel)).named().
		fills("line season")
	pollenKind = kind("pollen", "pollen", "pollen plant collected",
		named("pollen", naming.CleanID), refTo("plant", "plants"), refTo("season", "seasons"),
		day("collected", "collected_on"), day("dried", "dried_on"), day("good_until"), day("used_up", "used_up_on"),
		text("place", naming.CleanLabel), text("note"), stamped("added_at")).named().fills("plant season collected").
		words("pollen", "lots of pollen")
	crossKind = kind("crosses", "cross", "cross seed_parent",
		named("cross", naming.CleanID), refTo("season", "seasons"), refTo("seed_parent", "plants"), refTo("pollen_parent", "plants"),
		day("made_on"), count("seeds"), text("note"), refTo("line", "lines"),
		oneOf("kind", nil, string(book.KindCross), string(book.KindSelf), string(book.KindSib), string(book.KindOpen)),
		stamped("added_at"), refTo("pollen", "pollen")).named().fills("season seed_parent")
	headKind = kind("heads", "head", "head",
		named("head", naming.CleanID), refTo("plant", "plants"), refTo("cross", "crosses"), refTo("season", "seasons"),
		day("bagged", "bagged_on"),
		typed(exchange.Days, "pollinated").listed("(SELECT group_concat(day, ' ' ORDER BY day) FROM pollination WHERE head_id = t.id)"),
		day("stigmas_dry", "stigmas_dry_on"), day("harvested", "harvested_on"), count("seeds"), day("lost", "lost_on"), text("note"),
		count("number"), jsonColumn[map[string]string]("pollination_notes", nil).
			listed("(SELECT nullif(json_group_object(day, note ORDER BY day), '{}') FROM pollination WHERE head_id = t.id AND note <> '')"),
		stamped("added_at"), day("emasculated", "emasculated_on")).named().fills("season")
	packetKind = kind("packets", "packet", "packet season",
		named("packet", naming.CleanID), refTo("season", "seasons"), refTo("line", "lines"), refTo("cross", "crosses"),
		kindColumn{Column: exchange.Column{Name: "heads", Type: exchange.Words, Clean: naming.CleanID}, query: `(SELECT group_concat(h.name, ' '
			ORDER BY x.id) FROM packet_head x JOIN head h ON h.id = x.head_id WHERE x.packet_id = t.id)`},
		text("founder_group", naming.CleanLine), count("seeds"), day("made", "made_on"), day("dried", "dried_on"),
		text("place", naming.CleanLabel), text("paper", naming.CleanLabel), text("note"), stamped("added_at"),
		real("grams"), typed(exchange.YesNo, "seeds_by_weight").orElse(int64(0))).named()
	germinationKind = kind("germination_tests", "germination_test", "packet started seeds",
		refTo("packet", "packets"), day("started", "started_on"), count("seeds"), day("read", "read_on"), count("sprouted"), text("note")).
		fills("packet started seeds")
	seedOutKind = kind("seed_out", "seed_out", "packet day how seeds",
		refTo("packet", "packets"), day("day"), oneOf("how", nil, words(record.Outs)...), count("seeds"), real("grams"), text("to_whom"),
		text("note")).fills("packet day how seeds").words("seed that left", "lots of seed that left")
	sowingKind = kind("sowings", "sowing", "sowing packet seeds",
		named("sowing", naming.CleanID), refTo("packet", "packets"), refTo("line", "lines"), refTo("season", "seasons"),
		day("sown", "sown_on"), count("seeds"), text("note"), stamped("added_at"), real("grams"), day("planted_out", "planted_out_on")).
		named().fills("packet season seeds")
	scoreKind = kind("scores", "score", "plant trait value",
		refTo("plant", "plants"), refTo("trait", "traits"),
		word("value", cleanWord), // not a number alone: the trait's words are taken, too
		day("date", "scored_on"), text("note"), stamped("added_at")).fills("plant trait value")
	cameraKind = kind("camera_models", "camera_model", "camera model",
		word("camera", cleanCamera), text("kind"), count("patches").orElse(int64(0)), real("loo_de").orElse(0.0), text("photo"),
		stamped("learnt_at"), jsonColumn[json.RawMessage]("model", nil)).named().fills("model")
	photoKind = kind("photos", "photo", "sha256 path",
		word("sha256", cleanSum), refTo("plant", "plants"), refTo("season", "seasons"), word("path", naming.CheckPath), text("name"),
		count("bytes").orElse(int64(0)), typed(exchange.Stamp, "taken_at"), text("camera"),
		count("width").orElse(int64(0)), count("height").orElse(int64(0)), stamped("added_at")).by("sha256").fills("season path")
	readingKind = kind("readings", "reading", "plant L a b", // a row without a source is asked for its instrument
		refTo("plant", "plants").read("(SELECT name FROM plant WHERE id = coalesce(t.plant_id, "+ofPhoto("plant_id")+"))"),
		refTo("season", "seasons").read("(SELECT name FROM season WHERE id = coalesce(t.season_id, "+ofPhoto("season_id")+"))"),
		day("date").listed("substr(coalesce("+ofPhoto("taken_at")+", t.measured_at), 1, 10)"),
		real("L", "l"), real("a"), real("b"), real("se", "precision_de").orElse(0.0),
		word("source", cleanWord), refTo("photo", "photos"), typed(exchange.Stamp, "measured_at"), count("method").orElse(int64(0)),
		oneOf("status", string(colorimg.OK), string(colorimg.OK), string(colorimg.Check), string(colorimg.Refused)), text("reason"),
		real("trueness", "trueness_de"), text("hex"), text("colour_name"), real("se_L", "se_l"), real("se_a"), real("se_b"),
		real("spread_L", "spread_l"), real("spread_a"), real("spread_b"),
		jsonColumn[[]colorimg.Share]("colours", "[]"), jsonColumn[[]colorimg.Flag]("flags", "[]"), text("profile"),
		typed(exchange.YesNo, "card_found").orElse(int64(0)), text("card_kind"), jsonColumn[*[4]colorimg.Point]("card_corners", nil),
		real("gain_r").orElse(1.0), real("gain_g").orElse(1.0), real("gain_b").orElse(1.0), real("cct").orElse(0.0), real("ev").orElse(0.0),
		text("camera_model"), count("petal_pixels").orElse(int64(0)), real("petal_share").orElse(0.0), real("bloom_x"), real("bloom_y"),
		real("diameter_px").orElse(0.0), real("diameter_mm").orElse(0.0), checkedColumn("outline", nil, pathdata.Check),
		jsonColumn[[]colorimg.Ring]("radial", "[]"), jsonColumn[[]colorimg.Zone]("zones", "[]"),
		jsonColumn[colorimg.TagRead]("tag", nil), jsonColumn[colorimg.Correction]("correction", nil))
)

// ofPhoto is a column of a reading's photo, as SQL.
func ofPhoto(column string) string { return "(SELECT " + column + " FROM photo WHERE id = t.photo_id)" }
