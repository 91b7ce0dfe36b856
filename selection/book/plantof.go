package book

// PlantOf says which plant the photo at path shows, by where it lies.
func PlantOf(path, root string) (plant string, ok bool) { panic("not yet") }
