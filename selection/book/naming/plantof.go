package naming

import (
	"path/filepath"
	"strings"
	"sync"
	"time"
	"unicode"

	"hueward/selection/written"
)

// PlantOf says which plant the photo at path shows, by where it lies: the name of its own folder when it lies in a
// subfolder of root, else its file name up to the first underscore. ok is false when neither says.
//
// A name that a camera, phone or messenger gave says nothing of the plant: folders such as DCIM and 100APPLE, years and
// dates; file names that begin IMG_, DSC_, PXL_, P_ and the like, or with a date; Foto 1, Bild 3, WhatsApp Image and
// the like in many languages. Spaces in a name become "-"; a name that is not a usable id (see CleanID) says nothing.
// root may be empty: then only the file name counts. Both may be relative.
func PlantOf(path, root string) (plant string, ok bool) {
	if root != "" {
		if dir, inside := folderBelow(path, root); inside {
			if plant, ok := asPlant(dir, cameraFolder); ok {
				return plant, true
			}
		}
	}
	name := filepath.Base(path)
	if head, _, found := strings.Cut(name, "_"); found {
		return asPlant(head, cameraPrefix)
	}
	return "", false
}

// folderBelow is the name of the folder that path lies in, when that is a folder below root and not root itself.
func folderBelow(path, root string) (name string, inside bool) {
	if filepath.IsAbs(path) != filepath.IsAbs(root) {
		var err error
		if path, err = filepath.Abs(path); err != nil {
			return "", false
		}
		if root, err = filepath.Abs(root); err != nil {
			return "", false
		}
	}
	dir := filepath.Dir(path)
	rel, err := filepath.Rel(root, dir)
	if err != nil || rel == "." || rel == ".." || strings.HasPrefix(rel, ".."+string(filepath.Separator)) {
		return "", false
	}
	return filepath.Base(dir), true
}

// asPlant turns a name into an id, unless it is one that a camera gave.
func asPlant(name string, camera func(string) bool) (string, bool) {
	name = strings.Join(strings.FieldsFunc(name, unicode.IsSpace), "-")
	id, err := CleanID(name)
	if err != nil || camera(id) || isDate(id) || givenByMachine(id) {
		return "", false
	}
	return id, true
}

// The names that cameras, phones and programs give. Common practice, no one source; folders by the rule of JEITA
// CP-3461 (DCF): three digits and five characters.
var (
	prefixes = written.Pattern(`(?i)^(IMG|IMAGE|DSC|DSCF|DSCN|DSCS|PXL|P|MVIMG|DCIM|VID|MOV|BURST|PANO|SAM|GOPR|GX|GH|CIMG|IMGP|` +
		`PICT|HPIM|KIMG|FILE|PHOTO|PICTURE|SCAN|WIN|SCREENSHOT|SNAPSEED|SIGNAL|WHATSAPP|WA|FB|RECEIVED)$`)
	// With the picture's number run on: DSC0012, P1010001; a lone P only with
	// as many digits as its cameras write, for P12 is a plant.
	numbered = written.Pattern(`(?i)^((IMG|DSC|DSCF|DSCN|DSCS|PXL|MVIMG|SAM|GOPR|GX|GH|CIMG|IMGP|PICT|HPIM)-?[0-9]+|P[0-9A-C]?[0-9]{6,7})$`)
	folders  = written.Pattern(`(?i)^(DCIM|CAMERA|PHOTOS|PICTURES|IMAGES|[1-9][0-9]{2}([A-Z]{5}|_{2,5}|_?[A-Z0-9_]{4,5}))$`)
	year     = written.Pattern(`^(19|20)[0-9]{2}$`)
)

func cameraPrefix(id string) bool { return prefixes().MatchString(id) || numbered().MatchString(id) }

func cameraFolder(id string) bool { return folders().MatchString(id) || year().MatchString(id) }

// isDate reports whether s is a date as cameras and people write them.
func isDate(s string) bool {
	for _, layout := range [...]string{"20060102", "2006-01-02", "2006.01.02", "2006-01", "060102", "2006-1-2", "2.1.2006", "02-01-2006"} {
		if len(s) < 6 {
			break
		}
		t, err := time.Parse(layout, s)
		if err == nil && t.Year() >= 1990 && t.Year() < 2100 {
			return true
		}
	}
	return false
}

// What phones, cameras, messengers and file managers call pictures, in the languages that they speak. Common practice,
// no one source. A name that is made of these words, numbers and dates alone says nothing of a plant.
var (
	// One of them is enough.
	pictureWords = wordSet(`
		img imgs image images picture pictures pics photo photos photograph photographs screenshot screenshots screencapture snapshot
		scan scanned untitled dcim dsc dscf dscn dscs dsci pxl mvimg imgp cimg pict hpim kimg gopr pano panorama burst whatsapp telegram
		folder ordner dossier carpeta cartella папка 新建文件夹 roll downloads camera kamera cámara câmera fotocamera
		signal viber wechat mmexport kakaotalk snapchat instagram facebook messenger snapseed received iphone
		foto fotos fotografie fotografien bild bilder aufnahme aufnahmen bildschirmfoto bildschirmfotos bildschirmaufnahme unbenannt
		cliché cliche capture captures numérisation
		fotografía fotografia fotografías fotografias imagen imágenes imagenes captura capturas escaneo
		imagem imagens digitalização digitalizacao
		immagine immagini schermata schermate istantanea scansione
		afbeelding afbeeldingen schermafbeelding schermafbeeldingen schermopname
		skärmbild skärmavbild skärmdump billede billeder skærmbillede skærmbilleder bilde skjermbilde skjermdump
		kuva kuvat valokuva kuvakaappaus näyttökuva mynd
		zdjęcie zdjęcia zdjecie zdjecia obraz zrzut skan fotka fotky obrázek obrazek obrázok snímek snimek snímka snimka slika fotografija
		kép képek kep fénykép képernyőkép képernyőfotó kepernyokep
		poză poza poze imagine imagini resim resimler fotoğraf fotoğraflar fotograf ekran görsel
		фото фотография фотографии изображение снимок скриншот картинка рисунок зображення знімок світлина снимка
		φωτογραφία φωτογραφίες εικόνα εικόνες στιγμιότυπο
		照片 图片 圖片 相片 图像 影像 截图 截屏 截圖 屏幕截图 螢幕截圖 屏幕快照 微信图片 微信圖片
		写真 画像 スクリーンショット 사진 이미지 스크린샷 화면캡처 화면 صورة صور תמונה ảnh gambar`)
	// Words beside those.
	besideWords = wordSet(`
		wa fb vid video videos mov movie film clip cam cameras camara file files datei fichier
		new neu neue neues neuer nouveau nueva nuova nova novo новая ny nieuwe uusi album albums download favorites favoriten
		copy copies of kopie kopia kopi kopija copie copia cópia másolat kopya von van av af de du des di del la le el da do dos das
		sans titre sin título titulo senza titolo ohne titel écran ecran pantalla tela ecrã ekranu obrazovky görüntüsü alıntısı экрана екрана
		at on from to um uhr om à a alle ore le les à las a las às kl klo am pm h m s edit edited bearbeitet
		export exported resized original portrait pro lr lrm psx n o
		копия от`)
	// A UUID, as some phones call their pictures; long numbers; dates with a time behind.
	uuid       = written.Pattern(`(?i)^[0-9a-f]{8}-([0-9a-f]{4}-){3}[0-9a-f]{12}$`)
	longNumber = written.Pattern(`^[0-9]{8,}$`)
	dateTime   = written.Pattern(`^((19|20)[0-9]{2}[-.]?[0-9]{2}[-.]?[0-9]{2}|` +
		`[0-9]{1,2}[-.][0-9]{1,2}[-.](19|20)[0-9]{2})([-.Tt]?[0-9]+)*$`)
)

func wordSet(words string) func() map[string]bool {
	return sync.OnceValue(func() map[string]bool {
		set := map[string]bool{}
		for _, w := range strings.Fields(words) {
			set[w] = true
		}
		return set
	})
}

// givenByMachine reports whether a name is one that a machine or messenger gave a picture,
// and not a grower: see pictureWords.
func givenByMachine(name string) bool {
	if uuid().MatchString(name) || longNumber().MatchString(name) || dateTime().MatchString(name) {
		return true
	}
	letters := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsMark(r) })
	picture := false
	for _, word := range letters {
		switch {
		case pictureWords()[word]:
			picture = true
		case !besideWords()[word]:
			return false
		}
	}
	return picture
}
