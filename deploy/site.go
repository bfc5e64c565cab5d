package deploy

import _ "embed" // for the example site

//go:embed site.yaml
var siteFile []byte

// SiteFile is the example site file: Kestrel Yard.
func SiteFile() []byte { return append([]byte(nil), siteFile...) }
