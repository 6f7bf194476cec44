package xlsx

import (
	"bytes"
	"fmt"
	"strings"
)

// retouch mends small parts on their way into the file where the library cannot
// express what is wanted. It returns nil to leave a part as it is.
func retouch(name string, content []byte) []byte {
	if strings.HasPrefix(name, "xl/charts/chart") {
		return hatchChart(content)
	}
	return nil
}

// hatchChart replaces the stand-in colours of a chart by hatches (ECMA-376 part
// 1, 20.1.8.47, pattFill).
func hatchChart(content []byte) []byte {
	for i, preset := range hatches {
		plain := fmt.Sprintf(`<a:solidFill><a:srgbClr val="%s"></a:srgbClr></a:solidFill>`, hatchColour(i))
		hatched := fmt.Sprintf(`<a:pattFill prst="%s"><a:fgClr><a:srgbClr val="%s"/></a:fgClr><a:bgClr><a:srgbClr val="%s"/></a:bgClr></a:pattFill>`, preset, ink, white)
		content = bytes.ReplaceAll(content, []byte(plain), []byte(hatched))
	}
	return content
}
