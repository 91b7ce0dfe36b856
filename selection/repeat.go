package selection

// Repeat is the repeatability of one measurement: the share of the variance
// that lies between plants (intraclass correlation, one-way random effects).
type Repeat struct {
	Of        string  // "L*", "a*", "b*" or "distance"
	Value     float64 // 0 to 1; when not Known, what follows from the assumed scatter
	Low, High float64 // 95 % interval; 0, 1 when not Known
	Known     bool    // estimated from at least 2 plants, one of them with 2 photos
	Plants    int     // plants with 2 or more photos, on which the scatter rests
	Photos    int     // their photos
}
