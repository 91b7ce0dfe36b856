package naming

import (
	"path/filepath"
	"strings"
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

// Names that phones, cameras and messengers give in many languages say nothing: before,
// each of them became a plant. Common practice, no source.
func TestPlantOfMachineNames(t *testing.T) {
	t.Parallel()
	for _, name := range []string{
		"Foto_1", "Foto 12_1", "foto3_2", "Bild_3", "Bild 3_1", "Bild0003_1", "WhatsApp Image 2026-07-12 at 10.11.12_1",
		"WhatsApp Bild 2026-07-12 um 10.11.12_1", "WhatsApp-Foto_2", "IMG-20260712-WA0003_1", "IMG20260712101112_01", "IMG 0412_edited",
		"Screenshot_20260712-101112", "Screenshot 2026-07-12 at 10.11.12_1", "Bildschirmfoto 2026-07-12 um 10.11.12_2",
		"Capture 2026-07-12_1", "Captura de pantalla 2026-07-12_1", "Captura de ecrã_3", "Schermata 2026-07-12 alle 10.11.12_1",
		"Schermafbeelding 2026-07-12 om 10.11.12_1", "Skärmavbild 2026-07-12 kl 10.11_1", "Zdjęcie_1", "Zrzut ekranu 2026_1", "Снимок экрана_1",
		"Фото 3_1", "Φωτογραφία_1", "照片_1", "微信图片_20260712101112", "写真_1", "사진_1", "KakaoTalk_20260712", "mmexport1720000000000_1",
		"photo_2026-07-12_10-11-12", "Photo 12_1", "signal-2026-07-12-10-11-12-345_1", "received_1234567890", "FB_IMG_1234567890",
		"PXL_20260712", "DSC00123_1", "DSC-0012_1", "Kopie von IMG_0412", "Copy of Photo_1", "Neues Bild_1", "Untitled_1", "image00012_1",
		"3F2504E0-4F89-11D3-9A0C-0305E82C3301_1", "1720000000000_1", "2026-07-12 10.11.12_1", "12.07.2026_1", "image (2)_1", "Imagem_1",
		"Immagine 4_1", "Afbeelding_1", "Billede_1", "Kuva_1", "Kép_1", "Resim_1", "Obrázek_1", "Poza_1", "iPhone Foto_1", "Snapchat-123456_1",
		"Viber_image_2026", "Camera Photo_1", "Telegram_1", "New folder_1", "Neuer Ordner (2)_1", "Nouveau dossier_1", "Camera Roll_1",
	} {
		if got, ok := PlantOf(name+".jpg", ""); ok {
			t.Errorf("PlantOf(%s.jpg) = %q, want nothing", name, got)
		}
		folder, _, _ := strings.Cut(name, "_")
		if got, ok := PlantOf("photos/"+folder+"/1.jpg", "photos"); ok && folder != "FB" {
			t.Errorf("the folder %q is taken for plant %q", folder, got)
		}
	}
	// What a grower may call a plant stays one.
	for _, name := range []string{"M-07", "26-014H", "P12", "14", "Rosa", "Bildschön", "Fotini-3", "WA-7", "Kopenhagen", "Camilla", "De-1",
		"A-3",
		"Photogenic-2", "Galaxy", "12-03-26", "Scanlon"} {
		if got, _ := PlantOf(name+"_1.jpg", ""); got != name {
			t.Errorf("PlantOf(%s_1.jpg) = %q, want the plant", name, got)
		}
	}
}
