package transfer

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/must"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/exchange"
	"hueward/selection/book/naming"
)

// importing writes tables, each a name and its text, and imports them.
func importing(t testing.TB, b *book.Book, opt *ImportOptions, tables ...string) (*Imported, error) {
	t.Helper()
	dir := t.TempDir()
	var files []string
	for i := 0; i < len(tables); i += 2 {
		f := filepath.Join(dir, tables[i])
		must.OK(t, os.WriteFile(f, []byte(tables[i+1]), 0o666))
		files = append(files, f)
	}
	return Import(context.Background(), b, files, opt)
}

func mustImport(t testing.TB, b *book.Book, opt *ImportOptions, tables ...string) *Imported {
	t.Helper()
	got := must.Have(importing(t, b, opt, tables...))(t)
	return got
}

// problems are what an import says is wrong, without folders.
func problems(t testing.TB, err error) string {
	t.Helper()
	var wrong *ImportError
	if !errors.As(err, &wrong) {
		t.Fatalf("error %v, want an *ImportError", err)
	}
	var out []string
	for _, p := range wrong.Problems {
		var e *exchange.Error
		if errors.As(p, &e) {
			c := *e
			c.File = filepath.Base(c.File)
			p = &c
		}
		out = append(out, p.Error())
	}
	return strings.Join(out, "\n")
}

// A season as a grower writes it down, in the plain columns, in several tables
// whose rows name each other in any order.
func TestImportPlain(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	got := mustImport(t, b, nil,
		"scores.csv", "plant,trait,value,date,note\nM-02,form,semi-double,2026-07-20,second flush\nm-03,stem length,\"41,5\",,\n",
		"heads.csv", "head,plant,cross,season,bagged,pollinated,stigmas_dry,harvested,seeds,lost,note\n"+
			"M-01-1,M-01,X-1,2026,2026-07-01,2026-07-04 2026-07-03,,2026-08-10,38,,\nM-01-2,,,2026,,,,,,2026-07-09,snails\n",
		"packets.csv", "packet;season;line;cross;heads;founder_group;seeds;made;dried;place;paper;note\r\n"+
			"P-1;2026;;X-1;M-01-1;;36;2026-08-11;;tin;glassine;\r\n",
		"crosses.csv", "cross,season,seed_parent,pollen_parent,made_on,seeds,note\nX-1,2026,M-01,M-02,2026-07-03,,\n"+
			"X-2,2026,M-01,M-01,,,\nX-3,2026,M-02,,,12,bees\nX-4,2026,M-03,M-04,,,\n",
		"readings.csv", "\ufeffPlant; Season; Date; L; A; B; SE; Source\r\n M-01 ; 2026; 2026-07-14; 76,25; 15; -3,5; 0,3; "+
			"colorimeter\r\nM-02;2026;2026-07-15;1e1;0;0;;colorimeter\r\n",
		"plants.csv", "plant,line,season,seed_parent,pollen_parent,founder_group,founder_inbreeding,status,note,form,trait:vigour\n"+
			"M-03,buff apricot,2026,M-01,M-02,,,Kept,,4,weak\nM-04,buff apricot,2026,M-01,M-02,,,,,,\nM-01,buff apricot,2026,,,bought,.5,,\" "+
			"tall \",,\nM-02,Buff Apricot,2026,,,,,,,,\n\n,,,,,,,,,,\n",
	)
	booktest.Same(t, "new lines", []string{"buff apricot"}, got.Lines)
	plants := must.Have(b.Plants(ctx, book.PlantFilter{}))(t)
	half := 0.5
	want := []book.Plant{
		{ID: "M-01", Status: book.Growing, FounderGroup: "bought", FounderInbreeding: &half, Note: " tall ", Generation: "founder"},
		{ID: "M-02", Status: book.Growing, Generation: "founder"},
		{ID: "M-03", Status: book.Kept, SeedParent: "M-01", PollenParent: "M-02", Generation: "F1"},
		{ID: "M-04", Status: book.Growing, SeedParent: "M-01", PollenParent: "M-02", Generation: "F1"},
	}
	for i := range want {
		want[i].Line, want[i].Season, want[i].AddedAt = "buff apricot", "2026", booktest.Noon
	}
	booktest.Same(t, "plants", want, plants)
	crosses := must.Have(b.Crosses(ctx, ""))(t)
	var kinds []book.Kind
	for _, c := range crosses {
		kinds = append(kinds, c.Kind)
		if c.Line != "buff apricot" {
			t.Errorf("cross %s is of line %q, want its seed parent's", c.Name, c.Line)
		}
	}
	booktest.Same(t, "kinds of crosses", []book.Kind{book.KindCross, book.KindSelf, book.KindOpen, book.KindSib}, kinds)
	heads := must.Have(b.Heads(ctx, "2026"))(t)
	if len(heads) != 2 || len(heads[0].Pollinated) != 2 || heads[0].Pollinated[0].Day() != 3 || heads[0].Cross != "X-1" ||
		heads[1].Number != 2 || heads[1].Plant != "M-01" {
		t.Errorf("heads = %+v", heads)
	}
	packets := must.Have(b.Packets(ctx, ""))(t)
	if len(packets) != 1 || packets[0].Line != "buff apricot" || !cmp.Equal(packets[0].Heads, []string{"M-01-1"}) || *packets[0].Seeds != 36 {
		t.Errorf("packets = %+v", packets)
	}
	scores := must.Have(b.Scores(ctx, ""))(t)
	var said []string
	for _, s := range scores {
		said = append(said, s.Plant+" "+s.Trait+" "+(&exchange.Column{}).Format(s.Value))
	}
	booktest.Same(t, "scores", []string{"M-02 form 3", "M-03 form 4", "M-03 stem length 41.5", "M-03 vigour 2"}, said)
	rs := must.Have(b.Readings(ctx, "", "2026"))(t)
	if len(rs) != 2 || rs[0].Measured.Lab[0] != 76.25 || rs[0].Measured.Lab[2] != -3.5 || rs[0].Measured.SE.Trueness != 0.3 ||
		rs[1].Measured.Lab[0] != 10 || rs[0].Source != "colorimeter" {
		t.Errorf("readings = %+v", rs)
	}
}

// A row that the book has is passed over; one that differs is an error, or with
// --update changes what the file has columns for; and all of it is undone.
func TestImportAgain(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	mustImport(t, b, nil,
		"plants.csv", "plant,line,season,status,note\nM-01,buff,2026,kept,sturdy\nM-02,buff,2026,,\n",
		"heads.csv", "head,season,pollinated,note\nM-01-1,2026,2026-07-03 2026-07-04,\n",
		"packets.csv", "packet,season,line,heads\nP-1,2026,buff,M-01-1\n",
		"scores.csv", "plant,trait,value\nM-01,form,3\n")
	before := booktest.Contents(t, b)
	for _, c := range []struct {
		name, table, wrong string
		update             bool
		added, changed     int
	}{
		{"the same", "plant,line,season,status,note\nm-01,BUFF,2026,kept,sturdy\n", "", false, 0, 0},
		{"fewer columns", "plant\nM-01\n", "", false, 0, 0},
		{"one more", "plant,line,season\nM-01,buff,2026\nM-03,buff,2026\n", "", false, 1, 0},
		{"differs", "plant,status\nM-02,\nM-01,passed\n",
			`t.csv: line 3, column "status": "M-01" is "passed" here and "kept" in the book; correct the file, or change the book`, false, 0, 0},
		{"changes", "plant,status,note\nM-01,passed,\n", "", true, 0, 1},
		{"changes its parent", "plant,seed_parent\nM-01,M-02\n", "", true, 0, 1},
		{"moves to a new line", "plant,line\nM-01,cosmos\n", "", true, 0, 1},
		{"scores in columns", "plant,form\nM-01,3\nM-02,double\n", "", false, 0, 0},
		{"a score differs", "plant,Form\nM-01,4\n",
			`t.csv: line 2, column "Form": "M-01" is scored 3 in the book, 4 here; correct the file, or score it again`, false, 0, 0},
		{"a score anew", "plant,form\nM-01,4\n", "", true, 0, 0},
		{"a score once more", "plant,trait,value\nM-01,form,3\nM-01,form,3\n", "", false, 1, 0},
		{"other days", "head,pollinated\nM-01-1,2026-07-03 2026-07-05\n", "", true, 0, 1},
		{"days in another order", "head,pollinated\nM-01-1,2026-07-04 2026-07-03\n", "", false, 0, 0},
		{"without its heads", "packet,season,heads\nP-1,2026,\n", "", true, 0, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := importing(t, b, &ImportOptions{Update: c.update}, "t.csv", c.table)
			if c.wrong != "" {
				booktest.Same(t, "problems", c.wrong, problems(t, err))
			} else if err != nil {
				t.Fatal(err)
			} else if f := got.Tables[0]; f.Added != c.added || f.Updated != c.changed {
				t.Errorf("%d added, %d changed; want %d, %d", f.Added, f.Updated, c.added, c.changed)
			}
			if !cmp.Equal(before, booktest.Contents(t, b)) {
				must.Have(b.Undo(context.Background(), 0))(t)
			} else if c.added+c.changed > 0 {
				t.Error("nothing was changed")
			}
			booktest.Same(t, "afterwards, undone", before, booktest.Contents(t, b))
		})
	}
}

// What is wrong is reported with its place, and nothing is imported.
func TestImportProblems(t *testing.T) {
	t.Parallel()
	b := booktest.Filled(t)
	before := booktest.Contents(t, b)
	const plants = "plant,line,season,seed_parent,pollen_parent\n"
	for _, c := range []struct{ name, table, want string }{
		{"own parent", plants + "A,l,2026,A,\n",
			`t.csv: line 2, column "seed_parent": plant "A" would be its own ancestor (A, child of A); correct the parents`},
		{"ring", plants + "A,l,2026,,C\nB,l,2026,A,\nC,l,2026,,B\n",
			`t.csv: line 2, column "pollen_parent": plant "A" would be its own ancestor (A, child of C, child of B, child of A); correct the ` +
				`parents`},
		{"younger parent", plants + "A,l,2026,,B\nB,l,2027,,\n",
			`t.csv: line 2, column "pollen_parent": plant "A" is of season 2026, before that of its parent "B", 2027; correct ` +
				`the season or the parent`},
		{"unknown parent", plants + "A,l,2026,Z,\n",
			`t.csv: line 2, column "seed_parent": plant "Z" is neither in the book nor in what is imported; correct it, or import it along`},
		{"twice", plants + "A,l,2026,,\nB,l,2026,,\na,l,2026,,\n", `t.csv: line 4, column "plant": plant "a" is in line 2 already`},
		{"no line", plants + "A,,2026,,\n", `t.csv: line 2, column "line": is empty; fill it in`},
		{"unknown column", "plant,line,season,colour\nA,l,2026,red\n",
			`t.csv: line 1, column "colour": is neither a column of plants nor a trait of the book; correct its name, say what it is first, ` +
				`or leave it out`},
		{"unknown column of readings", "plant,season,date,L,a,b,se,source,hue\n", `hue": is not a column of readings`},
		{"trait out of scale", "plant,form\nM-1,6\n", `t.csv: line 2, column "form": doubleness "6": want a number from 1 to 5, or single`},
		{"L", "plant,season,date,L,a,b,source\nM-1,2026,2026-07-14,140,0,0,x\n", `t.csv: line 2, column "L": 140: want 0 to 100`},
		{"a", "plant,season,date,L,a,b,source\nM-1,2026,2026-07-14,14,0,-201,x\n", `t.csv: line 2, column "b": -201: want -200 to 200`},
		{"day", "plant,season,date,L,a,b,source\nM-1,2026,12/7/2026,14,0,0,x\n",
			`t.csv: line 2, column "date": "12/7/2026" is 12 July or 7 December; write 2026-07-12 or 2026-12-07`},
		{"no such day", "plant,season,date,L,a,b,source\nM-1,2026,2026-02-30,14,0,0,x\n",
			`t.csv: line 2, column "date": "2026-02-30": there is no such day; want a date`},
		{"a photo's reading without photo", "plant,season,date,L,a,b,source\nM-1,2026,2026-02-03,14,0,0,photo\n",
			`t.csv: line 2, column "source": "photo", but the column photo names none`},
		{"unknown table", "file,flower\nx,y\n", `t.csv: line 1: the columns "file,flower" are of no table that is known`},
		{"mistyped", "cross,season,seed_parent\nX-1,2026,26-014A\n",
			`t.csv: line 2, column "seed_parent": plant "26-014A": the last letter does not fit the number; look at the tag again`},
		{"self of two", "cross,season,seed_parent,pollen_parent,kind\nX-1,2026,M-1,M-2,self\n",
			`t.csv: line 2, column "kind": "self", but the pollen parent is not the seed parent; correct one of them`},
		{"head's number", "head,plant,season\nbest,M-1,2026\n", `t.csv: line 2, column "head": "best" does not end with - and a number`},
		{"same head", "head,plant,season,number\nx-1,M-1,2026,1\ny-1,M-1,2026,1\n",
			`t.csv: line 3, column "number": the plant has a head of number 1 already`},
		{"germination", "packet,started,seeds\nP-9,2026-09-01,10\n", `t.csv: line 2, column "packet": packet "P-9" is neither`},
		{"photo's facts", "sha256,plant,season,path,bytes\n" + booktest.Reading("first "+
			"bloom").SHA256 + ",M-1,2026,photos/2026/M-1/IMG_0412.jpg,3\n", `a photo's own data are not changed`},
		{"photo's path", "sha256,plant,season,path,bytes\n" + booktest.Reading("x").SHA256 + ",M-1,2026,photos/../../x.jpg,3\n",
			`t.csv: line 2, column "path": "photos/../../x.jpg" is not a place for a photo`},
		{"camera model", "camera,model\nmade-up phone 3,{}\n", `a camera model is learnt, not changed`},
		{"JSON", "plant,season,date,L,a,b,source,colours\nM-1,2026,2026-02-03,14,0,0,x,{}\n",
			`t.csv: line 2, column "colours": "{}" is not JSON as hueward writes it here`},
		{"file", "", "t.csv: line 1: the table is empty"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := importing(t, b, nil, "t.csv", c.table)
			if got := problems(t, err); !strings.Contains(got, c.want) {
				t.Errorf("problems:\n%s\nwant:\n%s", got, c.want)
			}
			booktest.Same(t, "afterwards", before, booktest.Contents(t, b))
		})
	}
	if h, err := b.History(context.Background(), 1); err != nil || strings.Contains(h[0].What, "imported") {
		t.Errorf("history = %+v, %v", h, err)
	}
	if _, err := Import(context.Background(), b, []string{"nowhere.csv"}, nil); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no such file: %v", err)
	}
	if _, err := Import(context.Background(), b, nil, &ImportOptions{As: "flowers"}); err == nil {
		t.Error("--as flowers was taken")
	}
}

func TestImportDryRun(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	before := booktest.Contents(t, b)
	got := must.Have(importing(t, b, &ImportOptions{DryRun: true}, "plants.csv", "plant,line,season\nM-01,buff,2026\n"))(t)
	if got.Tables[0].Added != 1 || !cmp.Equal(got.Seasons, []string{"2026"}) {
		t.Errorf("a dry run says %+v", got)
	}
	booktest.Same(t, "a dry run changed the book", before, booktest.Contents(t, b))
	if _, err := b.Undo(context.Background(), 0); !errors.Is(err, book.ErrNothingToUndo) {
		t.Errorf("undo after a dry run: %v", err)
	}
}

// Names of the book's making and others stay as they are; a reference may lack
// its check letter.
func TestImportKeepsNames(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	made := "26-014" + string(naming.CheckLetter("26-014"))
	mustImport(t, b, nil, "plants.csv", "plant,line,season,seed_parent\n"+made+",buff,2026,\n26-015,buff,2026,26-014\nŽl.1,buff,2026,\n")
	got := booktest.Column(t, booktest.DB(t, b), "SELECT name FROM plant ORDER BY id")
	booktest.Same(t, "names", []string{made, "26-015", "Žl.1"}, got)
	if p, err := b.Plant(context.Background(), "26-015"); err != nil || p.SeedParent != made {
		t.Errorf("its seed parent is %q, %v; want %s", p.SeedParent, err, made)
	}
}

// The photos' files come along, are checked, and go to their places.
func TestImportPhotos(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.Filled(t)
	dir := filepath.Join(t.TempDir(), "out")
	done, err := ExportDir(ctx, b, dir, true, false)
	if err != nil || done.Photos != 2 || len(done.Lost) > 0 {
		t.Fatalf("export: %+v, %v", done, err)
	}
	c := booktest.New(t)
	got, err := Import(ctx, c, csvFiles(t, dir), nil)
	if err != nil || got.PhotosCopied != 2 || got.WithoutFile != 0 {
		t.Fatalf("import: %+v, %v", got, err)
	}
	checkFiles(t, c, 2)
	booktest.Same(t, "exported, then imported", booktest.Contents(t, b), booktest.Contents(t, c))
	// Undone, the copies stay, and are taken over the next time.
	must.Have(c.Undo(ctx, 0))(t)
	os.RemoveAll(filepath.Join(dir, "photos"))
	if got, err = Import(ctx, c, csvFiles(t, dir), nil); err != nil || got.WithoutFile != 0 {
		t.Fatalf("import again: %+v, %v", got, err)
	}
	checkFiles(t, c, 2)

	// A file that is not the photo that the table says: nothing is imported or left.
	os.RemoveAll(dir)
	must.Have(ExportDir(ctx, b, dir, true, false))(t)
	changed := filepath.Join(dir, "photos/2026/M-2/IMG_0413.jpg")
	must.OK(t, os.WriteFile(changed, []byte("edited"), 0o666))
	d := booktest.New(t)
	_, err = Import(ctx, d, csvFiles(t, dir), nil)
	if got := problems(t, err); !strings.Contains(got, "photos.csv: line 3, column \"sha256\": is not that of the file") {
		t.Errorf("problems: %s", got)
	}
	if left := booktest.Tree(t, d.Dir()); len(left) > 2 { // photos and photos/.incoming
		t.Errorf("left behind: %v", left)
	}
	// Of a photo that is missing in the book, the row goes out and is named.
	os.RemoveAll(dir)
	p := must.Have(b.Photos(ctx, "", "M-1"))(t)
	must.OK(t, os.Remove(b.PhotoFile(p[0])))
	done, err = ExportDir(ctx, b, dir, true, false)
	if err != nil || done.Photos != 1 || !cmp.Equal(done.Lost, []string{p[0].Path}) {
		t.Errorf("export without a file: %+v, %v", done, err)
	}
	// So does that of one that cannot be read: before, nothing was exported then.
	must.OK(t, os.Mkdir(b.PhotoFile(p[0]), 0o777))
	done, err = ExportDir(ctx, b, dir, true, true)
	if err != nil || done.Photos != 1 || !cmp.Equal(done.Lost, []string{p[0].Path}) {
		t.Errorf("export with a folder in a photo's place: %+v, %v", done, err)
	}
}

// Of a photo that the book has, only the plant may be changed; its readings then
// go with it.
func TestImportPhotoOfAnotherPlant(t *testing.T) {
	b := booktest.Filled(t)
	before := booktest.Contents(t, b)
	table := "sha256,plant,season,path\n" + booktest.Reading("first bloom").SHA256 + ",M-2,2026,photos/2026/M-1/IMG_0412.jpg\n"
	if _, err := importing(t, b, nil, "photos.csv", table); !strings.Contains(problems(t, err), "change the book") {
		t.Errorf("without --update: %v", err)
	}
	got := mustImport(t, b, &ImportOptions{Update: true}, "photos.csv", table)
	ps, err := b.Photos(context.Background(), "", "M-2")
	if err != nil || len(ps) != 2 || got.Tables[0].Updated != 1 {
		t.Errorf("M-2 has %d photos, %v; want both", len(ps), err)
	}
	must.Have(b.Undo(context.Background(), 0))(t)
	booktest.Same(t, "undone", before, booktest.Contents(t, b))
}

// A stopped import leaves nothing.
func TestImportStopped(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	before := booktest.Contents(t, b)
	ctx, stop := context.WithCancel(context.Background())
	stop()
	file := booktest.WriteFile(t, "plants.csv", "plant,line,season\nM-01,buff,2026\n")
	if _, err := Import(ctx, b, []string{file}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want that it was stopped", err)
	}
	booktest.Same(t, "afterwards", before, booktest.Contents(t, b))
}

// checkFiles checks that each of n photos has its file.
func checkFiles(t testing.TB, b *book.Book, n int) {
	t.Helper()
	ps, err := b.Photos(context.Background(), "", "")
	if err != nil || len(ps) != n {
		t.Errorf("%d photos, %v; want %d", len(ps), err, n)
	}
	for _, p := range ps {
		content, err := os.ReadFile(b.PhotoFile(p))
		if err != nil {
			t.Error(err)
		} else if booktest.Reading(string(content)).SHA256 != p.SHA256 {
			t.Errorf("%s is not the photo that the book says", p.Path)
		}
	}
}

// An export goes into a new folder only, or with replace in place of another one.
func TestExportDirKeepsOthersFiles(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.Filled(t)
	dir := filepath.Join(t.TempDir(), "out")
	must.Have(ExportDir(ctx, b, dir, true, false))(t)
	want := booktest.Tree(t, dir)
	if _, err := ExportDir(ctx, b, dir, true, false); !errors.Is(err, book.ErrNotEmpty) || !strings.Contains(err.Error(), "or replace it") {
		t.Errorf("a second export: %v, want ErrNotEmpty and what to do", err)
	}
	if _, err := ExportDir(ctx, b, dir, true, true); err != nil {
		t.Errorf("a second export in place of the first: %v", err)
	}
	booktest.Same(t, "replaced", want, booktest.Tree(t, dir))
	for _, other := range []string{filepath.Join(dir, "diary.txt"), filepath.Join(dir, "my.csv")} {
		must.OK(t, os.WriteFile(other, []byte("dear diary"), 0o666))
		if _, err := ExportDir(ctx, b, dir, false, true); !errors.Is(err, book.ErrNotEmpty) {
			t.Errorf("with %s in it: %v, want ErrNotEmpty", filepath.Base(other), err)
		}
		if _, err := os.Stat(other); err != nil {
			t.Error(err)
		}
		os.Remove(other)
	}
	if _, err := ExportDir(ctx, b, b.Dir(), false, true); !errors.Is(err, book.ErrNotEmpty) {
		t.Errorf("into the book's folder: %v, want ErrNotEmpty", err)
	}
	if left, err := filepath.Glob(filepath.Join(filepath.Dir(dir), ".*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// Where an old export and its new one cannot change places at once, a program that was
// killed between leaves the old one in a hidden folder: the next finds it.
func TestPutBack(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.Filled(t)
	dir := filepath.Join(t.TempDir(), "out")
	must.Have(ExportDir(ctx, b, dir, false, false))(t)
	want := booktest.Tree(t, dir)
	around := filepath.Join(filepath.Dir(dir), ".out-17")
	must.OK(t, errors.Join(os.Mkdir(around, 0o777), os.Mkdir(filepath.Join(around, "export"), 0o777),
		os.Rename(dir, filepath.Join(around, "export.old"))))
	if _, err := ExportDir(ctx, b, dir, false, false); !errors.Is(err, book.ErrNotEmpty) {
		t.Errorf("exported over it: %v", err)
	}
	booktest.Same(t, "put back", want, booktest.Tree(t, dir))
	if _, err := os.Stat(around); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the folder around it is there: %v", err)
	}
	// What others left that were killed goes a day later.
	for _, name := range []string{".out-18", ".out-19", ".out-mine"} {
		must.OK(t, os.MkdirAll(filepath.Join(filepath.Dir(dir), name, "export"), 0o777))
		if at := time.Now().Add(-25 * time.Hour); name != ".out-19" {
			must.OK(t, os.Chtimes(filepath.Join(filepath.Dir(dir), name), at, at))
		}
	}
	if _, err := ExportDir(ctx, b, dir, false, true); err != nil {
		t.Error(err)
	}
	left, err := filepath.Glob(filepath.Join(filepath.Dir(dir), ".*"))
	if err != nil || len(left) != 2 || filepath.Base(left[0]) != ".out-19" || filepath.Base(left[1]) != ".out-mine" {
		t.Errorf("left: %v, %v", left, err)
	}
	if back, err := PutBack(filepath.Join(t.TempDir(), "none")); back || err != nil {
		t.Errorf("of nothing: %v, %v", back, err)
	}
}

// Plants with one parent in common are no sibs.
func TestImportHalfSibs(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	mustImport(t, b, nil,
		"plants.csv", "plant,line,season,seed_parent,pollen_parent\nA,l,2026,,\nB,l,2026,,\nD,l,2026,,\nAB,l,2026,A,B\nAD,l,2026,A,D\n"+
			"BA,l,2026,B,A\n",
		"crosses.csv", "cross,season,seed_parent,pollen_parent\nX-1,2026,AB,AD\nX-2,2026,AB,BA\n")
	got := booktest.Column(t, booktest.DB(t, b), `SELECT kind FROM "cross" ORDER BY id`)
	booktest.Same(t, "kinds", []string{"cross", "sib"}, got)
}

// An export that lost rows or a table on its way is not taken in as if it were whole;
// one that was added to is.
func TestImportManifest(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.Filled(t)
	dir := filepath.Join(t.TempDir(), "out")
	must.Have(ExportDir(ctx, b, dir, false, false))(t)
	plants := must.Have(os.ReadFile(filepath.Join(dir, "plants.csv")))(t)
	for _, c := range []struct {
		name string
		do   func() error
		want string
	}{
		{"rows lost", func() error {
			lines := strings.SplitAfter(string(plants), "\n")
			return os.WriteFile(filepath.Join(dir, "plants.csv"), []byte(strings.Join(lines[:2], "")), 0o666)
		}, "plants.csv has 1 rows, and 2 when it was exported"},
		{"a table lost", func() error { return os.Remove(filepath.Join(dir, "plants.csv")) }, `the table "plants" of 2 rows is missing`},
		{"whole", func() error { return os.WriteFile(filepath.Join(dir, "plants.csv"), plants, 0o666) }, ""},
		{"added to", func() error {
			return os.WriteFile(filepath.Join(dir, "plants.csv"), append(plants, strings.Replace(strings.Split(string(plants), "\n")[1], "M-1",
				"M-9", 1)...), 0o666)
		}, ""},
	} {
		must.OK(t, c.do())
		_, err := Import(ctx, booktest.New(t), append(csvFiles(t, dir), filepath.Join(dir, ManifestName)), nil)
		if c.want == "" && err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if c.want != "" && !strings.Contains(problems(t, err), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

// A damaged book is not exported as if it were whole.
func TestExportChecksFirst(t *testing.T) {
	t.Parallel()
	b := booktest.Filled(t)
	must.Have(booktest.DB(t, b).Exec("UPDATE reading SET l = 68.5 WHERE id = 1"))(t)
	dir := filepath.Join(t.TempDir(), "out")
	if _, err := ExportDir(t.Context(), b, dir, false, false); !errors.Is(err, book.ErrDamaged) {
		t.Errorf("exported: %v, want ErrDamaged", err)
	}
	if left := booktest.Tree(t, filepath.Dir(dir)); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}

// What import takes, ranking takes: one limit for a standard error.
func TestImportErrorLimit(t *testing.T) {
	t.Parallel()
	for se, ok := range map[string]bool{"1000": true, "1001": false, "-1": false} {
		b := booktest.New(t)
		_, err := importing(t, b, nil, "plants.csv", "plant,line,season\nM-1,l,2026\n",
			"readings.csv", "plant,season,date,L,a,b,se,source\nM-1,2026,2026-07-14,50,90,80,"+se+",meter\n")
		if (err == nil) != ok {
			t.Errorf("a standard error of %s: %v", se, err)
		}
		if err != nil {
			continue
		}
		rs := must.Have(b.Readings(t.Context(), "", ""))(t)
		target := selection.Target{Lab: booktest.Buff, Within: 3}
		if _, err := selection.Rank(target, book.Observations(rs), nil); err != nil {
			t.Errorf("what was imported is not ranked: %v", err)
		}
	}
}
