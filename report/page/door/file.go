package door

import (
	"cmp"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// FileName is where pairings are kept in a book's folder.
const FileName = "pairings.json"

// pairings is what the file holds.
type pairings struct {
	Note    string   `json:"note"`
	Key     []byte   `json:"key"`
	Devices []Device `json:"devices"`
}

const fileNote = "Devices that were let in to this book's page. Keep it to yourself; without it they have to be let in again."

// stamp tells whether a file was written since.
type stamp struct {
	at   time.Time
	size int64
}

func (d *Door) stampNow() stamp {
	info, err := os.Stat(d.opt.File)
	if err != nil {
		return stamp{}
	}
	return stamp{info.ModTime(), info.Size()}
}

// open reads the file, or begins one.
func (d *Door) open() {
	if d.opt.File != "" {
		if d.load(); d.key != nil {
			return
		}
	}
	d.key = make([]byte, 32)
	rand.Read(d.key)
	if d.trouble == "" {
		d.save()
	}
}

// load reads the file. Where it cannot be, nothing changes, and trouble says why.
func (d *Door) load() {
	d.read = d.stampNow()
	text, err := os.ReadFile(d.opt.File)
	if errors.Is(err, fs.ErrNotExist) {
		if d.paired = nil; d.key != nil { // whoever removed it wants nobody in
			d.save()
		}
		return
	}
	var p pairings
	if err == nil {
		err = json.Unmarshal(text, &p)
	}
	if err == nil && len(p.Key) < 16 {
		err = errors.New("it has no key")
	}
	if err != nil {
		d.trouble = fmt.Sprintf("%s cannot be read (%v): devices have to be let in again", d.opt.File, err)
		return
	}
	os.Chmod(d.opt.File, 0o600) // a copy may have been made with more
	d.key, d.trouble = p.Key, ""
	known := d.paired
	d.paired = nil
	for _, k := range p.Devices {
		v := &k
		if i := slices.IndexFunc(known, func(v *Device) bool { return v.ID == k.ID }); i >= 0 {
			v = known[i]
			*v = k
		}
		d.paired = append(d.paired, v)
	}
}

// refresh reads the file again where another program has written it. d.mu is held.
func (d *Door) refresh() {
	if d.opt.File != "" && d.stampNow() != d.read {
		d.load()
	}
}

// save writes the file, whole or not at all, for its owner's eyes alone. d.mu is held.
func (d *Door) save() {
	if d.opt.File == "" {
		return
	}
	p := pairings{Note: fileNote, Key: d.key, Devices: []Device{}}
	for _, v := range d.paired {
		p.Devices = append(p.Devices, *v)
	}
	if err := writeOwn(d.opt.File, p); err != nil {
		d.trouble = fmt.Sprintf("pairings are not kept (%v): devices have to be let in again when the page is restarted", err)
		return
	}
	d.trouble, d.read = "", d.stampNow()
}

func writeOwn(file string, p pairings) error {
	text, err := json.MarshalIndent(p, "", "  ")
	if err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(file), "."+FileName+"-*") // which its owner alone may read
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // no-op once it is in its place
	_, err = f.Write(append(text, '\n'))
	if err == nil {
		err = f.Sync()
	}
	if err = cmp.Or(err, f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), file)
}
