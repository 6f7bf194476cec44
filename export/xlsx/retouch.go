package xlsx

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
)

// retouch mends small parts on their way into the file where the library cannot
// express what is wanted. It returns nil to leave a part as it is.
func retouch(name string, content []byte) []byte {
	if strings.HasPrefix(name, "xl/charts/chart") {
		return labelOnWhite(crossAtEnd(hatchChart(content)))
	}
	return nil
}

// hatchChart replaces the stand-in colours of a chart by hatches (ECMA-376 part
// 1, 20.1.8.47, pattFill) and draws their outlines.
func hatchChart(content []byte) []byte {
	outline := fmt.Sprintf(`<a:ln w="9525"><a:solidFill><a:srgbClr val="%s"/></a:solidFill></a:ln>`, ink)
	for i, preset := range hatches {
		standIn := fmt.Sprintf(`<a:solidFill><a:srgbClr val="%s"></a:srgbClr></a:solidFill>`, hatchColour(i))
		fill := fmt.Sprintf(`<a:solidFill><a:srgbClr val="%s"/></a:solidFill>`, plainFill)
		if preset != "" {
			fill = fmt.Sprintf(`<a:pattFill prst="%s"><a:fgClr><a:srgbClr val="%s"/></a:fgClr><a:bgClr><a:srgbClr val="%s"/></a:bgClr></a:pattFill>`, preset, ink, white)
		}
		content = bytes.ReplaceAll(content, []byte(standIn), []byte(fill+outline))
	}
	return content
}

// plainFill is the one fill without a hatch; it prints as a middle grey.
const plainFill = "6E8791"

// crossAtEnd puts the numbers of a chart at its foot: with its categories
// counted from the top they would stand at its head.
func crossAtEnd(content []byte) []byte {
	at := bytes.Index(content, []byte("<valAx>"))
	if at < 0 {
		return content
	}
	rest := bytes.Replace(content[at:], []byte(`<crosses val="autoZero">`), []byte(`<crosses val="max">`), 1)
	return append(bytes.Clone(content[:at]), rest...)
}

// labelOnWhite puts the figures of a stacked chart on white, since they stand on
// the hatches.
func labelOnWhite(content []byte) []byte {
	if !bytes.Contains(content, []byte(`<grouping val="stacked">`)) {
		return content
	}
	ground := fmt.Sprintf(`$1<spPr><a:solidFill><a:srgbClr val="%s"/></a:solidFill></spPr><txPr>`, white)
	return bareLabels.ReplaceAll(content, []byte(ground))
}

// bareLabels finds the labels of a series, whose ground is not set.
var bareLabels = regexp.MustCompile(`(<dLbls>(?:<numFmt [^>]*></numFmt>)?)<spPr></spPr><txPr>`)
