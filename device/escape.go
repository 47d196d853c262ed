package device

import "fmt"

// Escape writes bytes as printable ASCII, for screens, messages and capture
// files: \r \n \t \\ \" and \xHH; everything from space to ~ stands for
// itself. No byte from a port can reach a terminal in any other way.
func Escape(raw []byte) string {
	return string(AppendEscaped(make([]byte, 0, len(raw)+8), raw))
}

// Quote returns what Escape does, between quotes.
func Quote(raw []byte) string { return `"` + Escape(raw) + `"` }

// Excerpt is Quote for a message: of more bytes than any label or reading has,
// it quotes the first and says how many there were.
func Excerpt(raw []byte) string {
	const most = 40
	if len(raw) <= most {
		return Quote(raw)
	}
	return fmt.Sprintf("%s and %d bytes more", Quote(raw[:most/2]), len(raw)-most/2)
}

// AppendEscaped appends what Escape returns to dst.
func AppendEscaped(dst, raw []byte) []byte {
	const hex = "0123456789abcdef"
	for _, c := range raw {
		switch {
		case c == '\r':
			dst = append(dst, `\r`...)
		case c == '\n':
			dst = append(dst, `\n`...)
		case c == '\t':
			dst = append(dst, `\t`...)
		case c == '\\' || c == '"':
			dst = append(dst, '\\', c)
		case c < ' ' || c > '~':
			dst = append(dst, '\\', 'x', hex[c>>4], hex[c&15])
		default:
			dst = append(dst, c)
		}
	}
	return dst
}
