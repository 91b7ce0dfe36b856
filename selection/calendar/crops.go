package calendar

import (
	_ "embed"
	"encoding/csv"
	"strings"
	"sync"
)

// Crops are the usual values, those of crops.csv: a row for each crop, with columns as [FieldNames] has them. The last is "other".
//
// Sources. Germination temperature, light, and weeks from sowing to planting out of zinnia, cosmos, snapdragon,
// petunia, China aster, cornflower, sunflower and nasturtium: R. Jauron, Annual Flower Seed Germination Guide, Iowa
// State University Extension; TestCropsJauron holds them to it. Days to the first and the final count: the
// International Rules for Seed Testing, table 5A, flowers, from memory. Seeds in a gram of zinnia, Tagetes and petunia:
// N. Sperry, How many seeds per ounce; years of seed of those that TestCropsSeed names: see there. Tagetes erecta has
// 24 chromosomes in two sets, T. patula 48 in four (Gilman and Taylor, from a review); lots of other numbers are known,
// so count, or believe the seed they set. How long pollen keeps: that of daisies, with three nuclei, for days, that of
// petunias, snapdragons, pansies and sweet peas, with two, for weeks (Brewbaker 1967, American Journal of Botany 54,
// from memory); its days, and all else, are common practice, no source: a year's weather moves all of them.
var Crops = sync.OnceValue(func() []Crop {
	rows, err := csv.NewReader(strings.NewReader(cropsTable)).ReadAll()
	if err != nil {
		panic(err) // the table is ours, as are its values
	}
	crops := make([]Crop, len(rows)-1)
	for i, row := range rows[1:] {
		crops[i] = Crop{Name: row[0], Title: row[1]}
		for k, name := range rows[0][2:] {
			if crops[i], err = crops[i].With(name, row[2+k]); err != nil {
				panic(err)
			}
		}
	}
	return crops
})

//go:embed crops.csv
var cropsTable string
