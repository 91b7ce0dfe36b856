package selection

// Rank orders the plants by their distance to the target and advises which to keep.
func Rank(target Target, obs []Observation, opt *Options) (*Ranking, error) { panic("not yet") }
