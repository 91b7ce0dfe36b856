package colorimg_test

import (
	"context"
	"fmt"
	"path/filepath"

	"hueward/colorimg"
)

// One photo, measured by the grey card in it.
func ExampleMeasure() {
	r, err := colorimg.Measure(context.Background(), filepath.FromSlash("testdata/spectral/easy_0006.jpg"), nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Status, r.Name, r.Card.Kind)
	fmt.Printf("L* %.0f\n", r.Lab[0])
	// Output:
	// ok vivid purplish red grey
	// L* 51
}

// Many photos: a refused one does not stop the others.
func ExampleBatch() {
	jobs := []colorimg.Job{
		{File: "testdata/spectral/easy_0003.jpg", Plant: "M-07"},
		{File: "testdata/spectral/truth.json", Plant: "M-08"},
	}
	said := make([]string, len(jobs))
	err := colorimg.Batch(context.Background(), jobs, nil, func(r colorimg.Result) error {
		said[r.Index] = fmt.Sprintln(*r.Reading.Plant, r.Reading.Status != colorimg.Refused)
		if r.Refused != nil {
			said[r.Index] += fmt.Sprintln(r.Refused.Code)
		}
		return nil
	})
	fmt.Print(said[0], said[1])
	fmt.Println(err)
	// Output:
	// M-07 true
	// M-08 false
	// unsupported
	// <nil>
}

// A place with controls of its own says what helps in its own words.
func ExampleHints() {
	page := colorimg.Hints{Problem: map[colorimg.Code]string{colorimg.CodeNoBloom: "tap the bloom"}}
	refused := &colorimg.Reading{Status: colorimg.Refused, Reason: "no bloom found; mark the bloom by hand"}
	fmt.Println(page.Reason(refused))
	// Output: no bloom found; tap the bloom
}
