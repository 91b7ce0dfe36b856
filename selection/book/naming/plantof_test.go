package naming

import (
	"path/filepath"
	"testing"
)

// Names as growers give them, and as cameras do. Common practice, no source.
func TestPlantOf(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ path, root, want string }{
		{"photos/M-7/IMG_0412.jpg", "photos", "M-7"},
		{"photos/M-7/C-1_2.jpg", "photos", "M-7"}, // the folder goes first
		{"photos/2026/M-7/a.jpg", "photos", "M-7"},
		{"photos/plant  12/a.jpg", "photos", "plant-12"},
		{"/home/g/photos/M-7/a.jpg", "/home/g/photos/", "M-7"},
		{"photos/M-7_1.jpg", "photos", "M-7"},
		{"M-7_second_light.jpg", "", "M-7"},
		{"M-7_1.jpg", ".", "M-7"},
		{"14_1.jpg", "", "14"},
		{"P12_1.jpg", "", "P12"},
		{"photos/26-014/1.jpg", "photos", "26-014"},

		{"photos/a.jpg", "photos", ""},
		{"elsewhere/M-7/a.jpg", "photos", ""}, // not below the root
		{"M-7/a.jpg", "", ""},
		{"photos/IMG_0412.jpg", "photos", ""},
		{"photos/img_0412.jpg", "photos", ""},
		{"photos/DSC_0012.jpg", "photos", ""},
		{"photos/_DSC0012.jpg", "photos", ""},
		{"photos/DSC0012_edit.jpg", "photos", ""},
		{"photos/DSCF1234_1.jpg", "photos", ""},
		{"photos/DSCN_1.jpg", "photos", ""},
		{"photos/PXL_20260814_101112.jpg", "photos", ""},
		{"photos/P_20260814_101112.jpg", "photos", ""},
		{"photos/P1010001_1.jpg", "photos", ""},
		{"photos/MVIMG_20260814.jpg", "photos", ""},
		{"photos/20260814_101112.jpg", "photos", ""},
		{"photos/2026-08-14_101112.jpg", "photos", ""},
		{"photos/DCIM/IMG_1.jpg", "photos", ""},
		{"photos/100APPLE/IMG_1.jpg", "photos", ""},
		{"photos/101_FUJI/DSCF1.jpg", "photos", ""},
		{"photos/2026/IMG_1.jpg", "photos", ""},
		{"photos/2026-08-14/IMG_1.jpg", "photos", ""},
		{"photos/2026-08-14/M-7_1.jpg", "photos", "M-7"},
		{"photos/what?/a.jpg", "photos", ""},
		{"photos/../M-7/a.jpg", "photos", ""},
		{"_.jpg", "", ""},
		{"", "", ""},
	} {
		got, ok := PlantOf(filepath.FromSlash(c.path), filepath.FromSlash(c.root))
		if got != c.want || ok != (c.want != "") {
			t.Errorf("PlantOf(%q, %q) = %q, %v, want %q", c.path, c.root, got, ok, c.want)
		}
	}
}
