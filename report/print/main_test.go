package print

import (
	"flag"
	"os"
	"testing"

	"hueward/colorimg/must"
)

// everything says that everything is to be tried.
var everything = os.Getenv("HUEWARD_FULL") == "1"

// TestMain makes fewer made-up cases of each property, unless everything is to be tried.
func TestMain(m *testing.M) {
	flag.Parse()
	if !everything {
		flag.Set("rapid.checks", "25")
	}
	os.Exit(must.Main(m.Run))
}
