package naming_test

import (
	"fmt"

	"hueward/selection/book/naming"
)

// The letter behind a made name guards it against mistyping.
func ExampleCheckLetter() {
	fmt.Printf("26-014%c 26-041%c\n", naming.CheckLetter("26-014"), naming.CheckLetter("26-041"))
	// Output: 26-014H 26-041L
}

// The folder that a photo lies in names its plant, unless a camera named it.
func ExamplePlantOf() {
	fmt.Println(naming.PlantOf("garden/M-07/IMG_0412.jpg", "garden"))
	fmt.Println(naming.PlantOf("garden/100APPLE/M-08_side.jpg", "garden"))
	fmt.Println(naming.PlantOf("garden/100APPLE/IMG_0412.jpg", "garden"))
	// Output:
	// M-07 true
	// M-08 true
	//  false
}
