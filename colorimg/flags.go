package colorimg

// The doubts that a reading can carry.
const (
	FlagNoCard         Flag = "no-card"         // measured by the camera's white balance
	FlagCardGiven      Flag = "card-given"      // the user pointed at the card
	FlagCardUneven     Flag = "card-uneven"     // the light changes across the card
	FlagCardClipped    Flag = "card-clipped"    // too bright to read
	FlagCardDark       Flag = "card-dark"       // in shadow or far underexposed
	FlagCardSmall      Flag = "card-small"      // few pixels
	FlagCardTwo        Flag = "card-two"        // another grey thing was nearly as good
	FlagCardUncertain  Flag = "card-uncertain"  // it may be another grey thing
	FlagLightOdd       Flag = "light-odd"       // far from daylight
	FlagLightUneven    Flag = "light-uneven"    // bloom and card do not see the same light
	FlagBloomSmall     Flag = "bloom-small"     // few petal pixels
	FlagBloomEdge      Flag = "bloom-edge"      // cut by the frame
	FlagBloomTwo       Flag = "bloom-two"       // another bloom is nearly as large
	FlagPetalClipped   Flag = "petal-clipped"   // many petal pixels too bright to read
	FlagPetalShadow    Flag = "petal-shadow"    // part of the bloom in deep shadow
	FlagPetalUncertain Flag = "petal-uncertain" // petals hard to tell from what is around them
	FlagTwoColors      Flag = "two-colours"     // the petals have more than one colour
	FlagColorsBlend    Flag = "colours-blend"   // the petals shade from one colour into another
	FlagPetalBrowned   Flag = "petal-browned"   // much of the bloom has withered
	FlagPetalFaded     Flag = "petal-faded"     // petals much paler towards their tips, as when they have bleached
	FlagTagUnreadable  Flag = "tag-unreadable"  // a tag is there, but its code cannot be read
	FlagTagOther       Flag = "tag-other"       // the tag names another plant than was said
	FlagTagTwo         Flag = "tag-two"         // another tag in the picture names another plant
	FlagCompressed     Flag = "compressed"      // saved too coarsely for its colours to be exact
	FlagBlurred        Flag = "blurred"         // the bloom itself is out of focus or moved
	FlagCameraModel    Flag = "camera-model"    // the phone's own colours were undone
	FlagLightCorrected Flag = "light-corrected" // light that falls off across the picture was evened out
	FlagProfile        Flag = "profile"         // no or unusable colour profile; read as sRGB
)

// words are what a grower reads about each flag: what it means, then what to do. They name no
// command and no control; see [Hints].
var words = map[Flag][2]string{
	FlagNoCard: {"measured without a grey card",
		"compare only with photos taken in the same light; lay a grey card beside the bloom next time"},
	FlagCardGiven:   {"the card was marked by hand", "nothing, if the outline is on the card"},
	FlagCardUneven:  {"the light changes across the card", "photograph it again in open shade, the card flat beside the bloom"},
	FlagCardClipped: {"the card is too bright to read", "take a darker photo, or move out of the sun"},
	FlagCardDark: {"the card is in shadow, or the photo is very dark",
		"lay the card in the same light as the bloom and photograph again"},
	FlagCardSmall: {"the card is small in the picture", "go closer, or use a larger card"},
	FlagCardTwo: {"another grey thing looks like a card",
		"check that the outline is on the card; if not, mark the card by hand"},
	FlagCardUncertain: {"what was read as the card may be something else",
		"check that the outline is on the card; if not, mark the card by hand"},
	FlagLightOdd:     {"the light is far from daylight", "photograph outdoors, away from lamps and coloured walls"},
	FlagLightUneven:  {"card and bloom may not be in the same light", "lay the card close beside the bloom, both in open shade"},
	FlagBloomSmall:   {"the bloom is small in the picture", "go closer"},
	FlagBloomEdge:    {"the bloom is cut by the edge of the picture", "photograph the whole bloom"},
	FlagBloomTwo:     {"several blooms are in the picture", "check that the right bloom is outlined; if not, mark it by hand"},
	FlagPetalClipped: {"part of the petals is too bright to read", "take a darker photo, or move out of the sun"},
	FlagPetalShadow:  {"part of the bloom is in deep shadow", "turn the bloom to the light, or use open shade"},
	FlagPetalUncertain: {"the petals are hard to tell from what is around them",
		"look at the outline; put a plain board behind the bloom"},
	FlagTwoColors: {"the petals have more than one colour", "compare the colours one by one; the first is the largest"},
	FlagColorsBlend: {"the petals shade from one colour into another",
		"nothing: the plant is ranked by the middle of all; both colours are listed"},
	FlagPetalBrowned: {"part of the petals has turned brown", "photograph a fresher bloom"},
	FlagPetalFaded:   {"the petals are much paler towards their tips", "if they have faded, photograph a fresher bloom"},
	FlagTagUnreadable: {"the tag in the picture cannot be read",
		"say which plant it is; next time clean the tag and hold it flat and near"},
	FlagTagOther: {"the tag in the picture names another plant", "see which is right, and say so"},
	FlagTagTwo:   {"two tags in the picture name different plants", "see which is right, and say so; next time keep other tags out"},
	FlagCompressed: {"the photo was saved at low quality, so its colours are not exact",
		"take the original from the phone, not a copy that was sent in a message or saved small"},
	FlagBlurred:        {"the bloom is blurred", "hold still, tap on the bloom to focus, and photograph it again"},
	FlagCameraModel:    {"the phone's colours were corrected by its own chart", "nothing"},
	FlagLightCorrected: {"the light falls off across the picture and was evened out by the card", "nothing; open shade is better still"},
	FlagProfile: {"the photo's colour profile cannot be used",
		"nothing, if the phone writes sRGB; else export the photo again with its profile"},
}

// Words returns what the flag means and what to do about it, in
// words that fit any place where a grower reads them. An unknown flag returns itself and an empty hint.
func (f Flag) Words() (what, todo string) {
	if w, ok := words[f]; ok {
		return w[0], w[1]
	}
	return string(f), ""
}

// Info reports whether the flag is only information, not a reason to look
// again: a reading with only such flags is still ok.
func (f Flag) Info() bool {
	switch f {
	case FlagCardGiven, FlagTwoColors, FlagColorsBlend, FlagProfile, FlagCameraModel, FlagLightCorrected, FlagPetalFaded:
		return true
	}
	return false
}
