package naming

import (
	"strings"
	"sync"
	"unicode"

	"hueward/selection/written"
)

// What phones, cameras, messengers and file managers call pictures, in the languages that
// they speak. Common practice, no one source. A name that is made of these words, numbers
// and dates alone says nothing of a plant.
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
