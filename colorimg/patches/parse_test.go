package patches

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
)

func TestOpen(t *testing.T) {
	s := must.Have(Open(filepath.Join("testdata", "garden24.txt")))(t)
	if s.Name != "garden 24" || s.Rows != 4 || s.Cols != 6 || len(s.Patches) != 24 || s.Gap != 0.14 || s.FromIDs {
		t.Fatalf("Open = %q, %d × %d, %d patches, gap %g, from ids %v", s.Name, s.Rows, s.Cols, len(s.Patches), s.Gap, s.FromIDs)
	}
	greys := 0
	for i, p := range s.Patches {
		if p.Row != i/6 || p.Col != i%6 {
			t.Errorf("patch %s lies in row %d, column %d, want %d, %d", p.ID, p.Row, p.Col, i/6, i%6)
		}
		if p.Neutral {
			greys++
		}
	}
	if p := s.Patches[7]; p.ID != "B2" || cie.DeltaE2000(p.Ref.Lab(), cie.Lab{L: 66, A: 40, B: 62}) > 1e-6 {
		t.Errorf("patch 8 = %s %v, want B2 66, 40, 62", p.ID, p.Ref.Lab())
	}
	if greys != 6 {
		t.Errorf("%d greys, want 6", greys)
	}
}

// text makes a file of the lines.
func text(lines ...string) string { return strings.Join(lines, "\n") }

// The 18 % grey and a buff apricot in every way that files give them. XYZ under
// D50 are of the linear Bradford transform (matrix as published by B. Lindbloom,
// from memory) of 0.17108, 0.18, 0.19599 (D65): 0.1736, 0.18, 0.1485.
func TestParseColors(t *testing.T) {
	grey := cie.XYZ{X: 0.17108, Y: 0.18, Z: 0.19599}
	for _, k := range []struct{ what, text string }{
		{"Lab, no light", text("CGATS.17", "BEGIN_DATA_FORMAT", "SAMPLE_ID LAB_L LAB_A LAB_B", "END_DATA_FORMAT", "BEGIN_DATA",
			"A1 49.496 0 0", "A2 90 1 2", "END_DATA")},
		{"Lab, D65, tabs, CRLF, small letters",
			"cgats\r\nilluminant\t\"D65\"\r\nBEGIN_DATA_FORMAT\r\nSampleID\tlab_l\tlab_a\tlab_b\r\nEND_DATA_FORMAT\r\n" +
				"BEGIN_DATA\r\nA1\t49.496\t0\t0\r\nEND_DATA\r\n"},
		{"XYZ to 100, D50 said", text("IT8.7/2", `ILLUMINATION_NAME "D50"`, "BEGIN_DATA_FORMAT", "SAMPLE_ID XYZ_X XYZ_Y XYZ_Z",
			"END_DATA_FORMAT", "BEGIN_DATA", "A1 17.356 18 14.848", "END_DATA")},
		{"XYZ to 100, light told by the white", text("CTI3", "BEGIN_DATA_FORMAT", "SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "END_DATA_FORMAT",
			"BEGIN_DATA", "A1 17.356 18 14.848", "A2 87 90 74", "END_DATA")},
		{"XYZ to 100, D65 told by the white", text("CTI3", "BEGIN_DATA_FORMAT", "SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "END_DATA_FORMAT",
			"BEGIN_DATA", "A1 17.108 18 19.599", "A2 85.5 90 98", "END_DATA")},
		{"XYZ to 1, D65", text("CGATS.17", `WEIGHTING_FUNCTION "ILLUMINANT, D65"`, `WEIGHTING_FUNCTION "OBSERVER, 2 degree"`,
			"BEGIN_DATA_FORMAT", "SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "END_DATA_FORMAT", "BEGIN_DATA", "A1 0.17108 0.18 0.19599", "END_DATA")},
		{"old Mac, byte mark, Latin-1, comments",
			"\xef\xbb\xbfCGATS.17\rDESCRIPTOR \"caf\xe9 \"\"x\"\"\"\r# all of it\rBEGIN_DATA_FORMAT\rSAMPLE_ID LAB_L\rLAB_A LAB_B # over two " +
				"lines\rEND_DATA_FORMAT\rBEGIN_DATA\r\"A1\" 49.496 0 0 # grey\rEND_DATA\r"},
		{"a table without colours before", text("CGATS.17", "NUMBER_OF_FIELDS 2", "BEGIN_DATA_FORMAT", "SAMPLE_ID NM_450",
			"END_DATA_FORMAT", "NUMBER_OF_SETS 1", "BEGIN_DATA", "1 0.2", "END_DATA",
			"NUMBER_OF_FIELDS 4", "BEGIN_DATA_FORMAT", "SAMPLE_ID LAB_L LAB_A LAB_B", "END_DATA_FORMAT", "NUMBER_OF_SETS 1", "BEGIN_DATA",
			"A1 49.496 0 0", "END_DATA")},
	} {
		s, err := Parse(strings.NewReader(k.text))
		if err != nil {
			t.Errorf("%s: %v", k.what, err)
			continue
		}
		if p := s.Patches[0]; p.ID != "A1" || !p.Neutral || cie.DeltaE2000(p.Ref.Lab(), grey.Lab()) > 0.02 {
			t.Errorf("%s: %s = %v, want A1 %v ± 0.02", k.what, p.ID, p.Ref.Lab(), grey.Lab())
		}
	}
}

func TestParseLayout(t *testing.T) {
	type cell struct {
		ID       string
		Row, Col int
	}
	const format, end = "BEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n", "END_DATA\n"
	for _, k := range []struct {
		what, text string
		rows, cols int
		fromIDs    bool
		want       []cell
	}{
		{"names", "CGATS.17\n" + format + "B02 50 0 0\nB03 60 0 0\nC02 70 0 0\nC03 80 0 0\n" + end, 2, 2, true,
			[]cell{{"B02", 0, 0}, {"B03", 0, 1}, {"C02", 1, 0}, {"C03", 1, 1}}},
		{"names past Z", "CGATS.17\n" + format + "Z1 50 0 0\nAA1 60 0 0\n" + end, 2, 1, true, []cell{{"Z1", 0, 0}, {"AA1", 1, 0}}},
		{"keywords", "CGATS.17\nHUEWARD_ROWS 2\nHUEWARD_COLUMNS 2\n" + format + "1 50 0 0\n2 60 0 0\n3 70 0 0\n" + end, 2, 2, false,
			[]cell{{"1", 0, 0}, {"2", 0, 1}, {"3", 1, 0}}},
		{"columns alone", "CGATS.17\nHUEWARD_COLUMNS 2\n" + format + "1 50 0 0\n2 60 0 0\n3 70 0 0\n" + end, 2, 2, false,
			[]cell{{"1", 0, 0}, {"2", 0, 1}, {"3", 1, 0}}},
		{"keywords before names", "CGATS.17\nHUEWARD_ROWS 1\n" + format + "A1 50 0 0\nB1 60 0 0\n" + end, 1, 2, false,
			[]cell{{"A1", 0, 0}, {"B1", 0, 1}}},
		{"fields", "CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID SAMPLE_ROW SAMPLE_COLUMN LAB_L LAB_A LAB_B\n" +
			"END_DATA_FORMAT\nBEGIN_DATA\nx 2 3 50 0 0\ny 1 1 60 0 0\n" + end, 2, 3, false,
			[]cell{{"x", 1, 2}, {"y", 0, 0}}},
		{"place beside a number", "CTI2\nBEGIN_DATA_FORMAT\nSAMPLE_ID SAMPLE_LOC LAB_L LAB_A LAB_B\n" +
			"END_DATA_FORMAT\nBEGIN_DATA\n1 \"A2\" 50 0 0\n2 \"A1\" 60 0 0\n" + end, 1, 2, true,
			[]cell{{"A2", 0, 1}, {"A1", 0, 0}}},
		{"place as a name", "CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n" +
			"BEGIN_DATA\n1 A2 50 0 0\n2 A1 60 0 0\n" + end, 1, 2, true,
			[]cell{{"A2", 0, 1}, {"A1", 0, 0}}},
	} {
		s, err := Parse(strings.NewReader(k.text))
		if err != nil {
			t.Errorf("%s: %v", k.what, err)
			continue
		}
		var got []cell
		for _, p := range s.Patches {
			got = append(got, cell{p.ID, p.Row, p.Col})
		}
		if s.Rows != k.rows || s.Cols != k.cols || s.FromIDs != k.fromIDs {
			t.Errorf("%s: %d × %d, from ids %v, want %d × %d, %v", k.what, s.Rows, s.Cols, s.FromIDs, k.rows, k.cols, k.fromIDs)
		}
		if d := cmp.Diff(k.want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", k.what, d)
		}
	}
}

func TestParseErrors(t *testing.T) {
	const lab = "BEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n"
	for _, k := range []struct{ text, want string }{
		{"", "no BEGIN_DATA: this is not a CGATS text file"},
		{"just words\n", "no BEGIN_DATA: this is not a CGATS text file"},
		{"\x00\x01", "not a text file"},
		{"\xff\xfeC\x00", "written as UTF-16; save it as plain text (UTF-8)"},
		{"CGATS.17\nDESCRIPTOR \"open\n", `line 2: a quote " is not closed`},
		{"CGATS.17\nBEGIN_DATA\n", "line 2: BEGIN_DATA before BEGIN_DATA_FORMAT: the fields have no names"},
		{"CGATS.17\nBEGIN_DATA_FORMAT\nLAB_L\n", "line 4: the file ends before END_DATA_FORMAT: is it cut off?"},
		{"CGATS.17\nBEGIN_DATA_FORMAT\nLAB_L LAB_L\nEND_DATA_FORMAT\n", `line 2: field "LAB_L" is named twice`},
		{"CGATS.17\n" + lab + "A1 50 0 0\n", "line 7: the file ends before END_DATA: is it cut off?"},
		{"CGATS.17\n" + lab + "A1 50 0\nEND_DATA\n", "line 6: 3 values, want 4, one for each field of BEGIN_DATA_FORMAT"},
		{"CGATS.17\n" + lab + "A1 5,0,5 0 0\nEND_DATA\n", `line 6: LAB_L "5,0,5" is not a number of a colour`},
		{"CGATS.17\n" + lab + "A1 nan 0 0\nEND_DATA\n", `line 6: LAB_L "nan" is not a number of a colour`},
		{"CGATS.17\n" + lab + "A1 150 0 0\nEND_DATA\n", "line 6: no surface has this colour: L* 150, a* 0, b* 0"},
		{"CGATS.17\n" + lab + "A1 50 0 0\nA1 60 0 0\nEND_DATA\n", `line 7: patch "A1" is given twice, first on line 6`},
		{"CGATS.17\n" + lab + "A1 50 0 0\nA01 60 0 0\nEND_DATA\n",
			`line 7: patch "A01" lies in row 1, column 1, where patch "A1" lies already (line 6)`},
		{"CGATS.17\n" + lab + "1 50 0 0\nEND_DATA\n", `line 6: patch "1": ` + noLayout},
		{"CGATS.17\nNUMBER_OF_SETS 24\n" + lab + "A1 50 0 0\nEND_DATA\n",
			"line 2: NUMBER_OF_SETS is 24, but 1 lines stand between BEGIN_DATA and END_DATA"},
		{"CGATS.17\nHUEWARD_ROWS none\n" + lab + "1 50 0 0\nEND_DATA\n", `line 2: HUEWARD_ROWS "none": want a whole number, 1 to 200`},
		{"CGATS.17\nHUEWARD_ROWS 1\nHUEWARD_COLUMNS 1\n" + lab + "1 50 0 0\n2 50 0 0\nEND_DATA\n",
			"line 10: 2 patches do not go into 1 rows by 1 columns"},
		{"CGATS.17\nILLUMINANT \"A\"\n" + lab + "A1 50 0 0\nEND_DATA\n", `line 2: colours under "A"; want them under D50 or D65`},
		{"CGATS.17\nOBSERVER_ANGLE \"10\"\n" + lab + "A1 50 0 0\nEND_DATA\n",
			"line 2: colours for the 10 degree observer; want those for 2 degrees"},
		{"CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B\nEND_DATA_FORMAT\nBEGIN_DATA\nA1 1 2 3\nEND_DATA\n",
			"no table gives LAB_L, LAB_A, LAB_B or XYZ_X, XYZ_Y, XYZ_Z: the patches' colours are not known"},
		{"CGATS.17\n" + strings.Repeat("x", 9000), "line 2: longer than 8192 letters: not a list of patches"},
	} {
		s, err := Parse(strings.NewReader(k.text))
		var e *SyntaxError
		if err == nil || err.Error() != k.want || !errors.As(err, &e) || s != nil {
			t.Errorf("Parse(%q) = %v, %v, want %s", k.text[:min(len(k.text), 60)], s, err, k.want)
		}
	}

	file := filepath.Join(t.TempDir(), "patches.txt")
	must.OK(t, os.WriteFile(file, []byte("CGATS.17\n"+lab+"A1 50 0\nEND_DATA\n"), 0o600))
	if _, err := Open(file); err == nil || err.Error() != file+":6: 3 values, want 4, one for each field of BEGIN_DATA_FORMAT" {
		t.Errorf("Open = %v, want the file's name and line 6", err)
	}
}

func TestParseTooMany(t *testing.T) {
	var b strings.Builder
	b.WriteString("CGATS.17\nHUEWARD_COLUMNS 50\nBEGIN_DATA_FORMAT\nLAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n")
	b.WriteString(strings.Repeat("50 0 0\n", maxPatches))
	if _, err := Parse(strings.NewReader(b.String() + "END_DATA\n")); err != nil {
		t.Errorf("%d patches: %v", maxPatches, err)
	}
	if _, err := Parse(strings.NewReader(b.String() + "50 0 0\nEND_DATA\n")); err == nil ||
		err.Error() != "line 2007: more than 2000 patches" {
		t.Errorf("%d patches: %v, want an error on line 2007", maxPatches+1, err)
	}
}

// sound checks that every patch has a cell of its own within the grid.
func sound(t *testing.T, s *Set) {
	t.Helper()
	cells := map[[2]int]string{}
	for _, p := range s.Patches {
		cell := [2]int{p.Row, p.Col}
		if other, taken := cells[cell]; taken || p.ID == "" || p.Row < 0 || p.Col < 0 || p.Row >= s.Rows || p.Col >= s.Cols {
			t.Fatalf("patch %+v of %d × %d, where %q lies", p, s.Rows, s.Cols, other)
		}
		cells[cell] = p.ID
	}
}

func seeds(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("testdata", "*.txt"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no files in testdata: %v", err)
	}
	return files
}

func FuzzParse(f *testing.F) {
	for _, file := range seeds(f) {
		b := must.Have(os.ReadFile(file))(f)
		f.Add(b)
	}
	f.Add([]byte("IT8.7/2\nILLUMINANT D50\nBEGIN_DATA_FORMAT\nSAMPLE_LOC XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\n" +
		"BEGIN_DATA\nA1 17.3 18 14.8\nA2 80 85 70\nEND_DATA\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		s, err := Parse(bytes.NewReader(b))
		if err != nil {
			if m := err.Error(); strings.ContainsAny(m, "\n\r") || len(m) > 1000 {
				t.Fatalf("error is not one short line: %q", m)
			}
			return
		}
		sound(t, s)
	})
}
