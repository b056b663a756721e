package picture

import "encoding/binary"

// upright returns the orientation that EXIF data tells (tag 274 of its first directory), and 1 where it tells none.
func upright(exif []byte) int {
	if len(exif) < 8 {
		return 1
	}
	var order binary.ByteOrder
	switch string(exif[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return 1
	}
	at := int64(order.Uint32(exif[4:]))
	if at+2 > int64(len(exif)) {
		return 1
	}
	count := int(order.Uint16(exif[at:]))
	for e := exif[at+2:]; count > 0 && len(e) >= 12; count, e = count-1, e[12:] {
		if order.Uint16(e) != 274 {
			continue
		}
		if o := order.Uint16(e[8:]); order.Uint16(e[2:]) == 3 && order.Uint32(e[4:]) == 1 && o >= 1 && o <= 8 {
			return int(o)
		}
		return 1
	}
	return 1
}
