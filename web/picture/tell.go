package picture

import (
	"bytes"
	"encoding/binary"
)

// tell returns the kind of the file that starts with head, at most 1024 bytes of it, or says what else it is.
func tell(head []byte) (Kind, error) {
	starts := func(s string) bool { return bytes.HasPrefix(head, []byte(s)) }
	const asPicture = "Save it as JPEG, PNG or TIFF and send that."
	switch {
	case starts("\xff\xd8\xff"):
		return JPEG, nil
	case starts("\x89PNG\r\n\x1a\n"):
		return PNG, nil
	case starts("RIFF") && len(head) >= 12 && string(head[8:12]) == "WEBP":
		return WebP, nil
	case starts("II*\x00"), starts("MM\x00*"):
		return TIFF, nil
	case starts("II+\x00"), starts("MM\x00+"):
		return "", refuse("This is a BigTIFF.", "Save it as an ordinary TIFF, as PNG or as JPEG.")
	case starts("GIF8"):
		return "", refuse("This is a GIF, which has few colours and may be animated.", "Save the picture as PNG.")
	case starts("%PDF"):
		return "", refuse("This is a PDF document, not a picture.", "Export each page as PNG or JPEG.")
	case starts("8BPS"):
		return "", refuse("This is a document with layers, which browsers do not show.", asPicture)
	case starts("BM") && len(head) >= 18 && binary.LittleEndian.Uint32(head[6:]) == 0:
		return "", refuse("This is a BMP.", "Save it as PNG and send that.")
	case starts("\xff\x0a"), starts("\x00\x00\x00\x0cJXL "):
		return "", refuse("This is a JPEG XL, which most browsers do not show.", asPicture)
	case starts("\x00\x00\x00\x0cjP  "), starts("\xff\x4f\xff\x51"):
		return "", refuse("This is a JPEG 2000, which most browsers do not show.", asPicture)
	case starts("PK\x03\x04"), starts("\x1f\x8b"):
		return "", refuse("This is an archive, not a picture.", "Unpack it and send the pictures in it.")
	case len(head) >= 16 && string(head[4:8]) == "ftyp":
		return brand(head)
	}
	if text := bytes.ToLower(bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n")); bytes.HasPrefix(text, []byte("<")) {
		switch {
		case bytes.Contains(text, []byte("<html")), bytes.Contains(text, []byte("<!doctype html")):
			return "", refuse("This is a web page, not a picture.", "Save the picture itself, not the page it is on.")
		case bytes.Contains(text, []byte("<svg")):
			return "", refuse("This is an SVG drawing, which has no pixels of its own.", "Export it as PNG in the size it is wanted.")
		}
	}
	if len(bytes.Trim(head, "\x00")) == 0 {
		return "", refuse("The file starts with nothing but zeros: it is damaged.", "Copy it or export it again.")
	}
	return "", refuse("This is not a JPEG, PNG, WebP, AVIF or TIFF.", asPicture)
}

// brand tells files of boxes apart by the brands in their first one (ISO/IEC 14496-12, ftyp).
func brand(head []byte) (Kind, error) {
	n := min(int(min(binary.BigEndian.Uint32(head), 1024)), len(head))
	var still, moving, other bool
	for at := 8; at+4 <= n; at += 4 {
		if at == 12 {
			continue // the minor version
		}
		switch string(head[at : at+4]) {
		case "avif":
			still = true
		case "avis":
			moving = true
		case "heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1":
			other = true
		}
	}
	switch {
	case moving:
		return "", errMoves
	case still:
		return AVIF, nil
	case other:
		return "", refuse("This is a HEIC picture, which most browsers do not show.", "Save it as JPEG or PNG and send that.")
	}
	return "", refuse("This is a film or a sound, not a picture.", "Save a single picture of it as PNG.")
}

var errMoves = &Refused{"The picture is animated.", "Send one still picture of it, as PNG or JPEG."}

func damaged(what string) error {
	return refuse("The file is damaged: "+what+".", "Copy it or export it again.")
}

var errInk = &Refused{"The picture is in CMYK, the colours of printing inks, which browsers show each in their own way.", "Convert it to RGB with its profile and send that."}
