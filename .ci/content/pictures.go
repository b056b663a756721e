package main

import (
	"bytes"
	"compress/bzip2"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	_ "image/jpeg" // as most pictures are
	_ "image/png"  // as the others are, but one
	"io"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

// A pack is a package of Debian 12.
type pack struct{ name, version string }

var (
	plasma   = pack{"plasma-workspace-data", "4:5.27.5-2+deb12u2"}
	palapeli = pack{"palapeli-data", "4:22.12.3-1"}
	skimage  = pack{"python3-skimage", "0.19.3-8"}
	scipy    = pack{"python3-scipy", "1.10.1-2"}
	lomiri   = pack{"lomiri-wallpapers-16.04", "20.04.0-2"}
)

// A picture is one that content is measured from.
type picture struct {
	in      pack
	path    string // below the folder where in is unpacked
	sha256  string // of the file
	licence string // as the package says: in a file beside the picture, its copyright file, or the words that come with the picture
}

// pictures are photographs of people, animals, food, things, rooms, towns and land, with no more than one that is black and white. Left out of the
// same packages are drawings, textures, scientific images, what is not in sRGB, and what has no clear or a stricter licence.
var pictures = []picture{
	{plasma, "usr/share/plasma/avatars/photos/Air Balloon.png", "7f7fa070a74066b7702dbd4bff0fb66d733cda60abefbc2bf6c7dc74614af05c", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Astronaut.png", "2684f214319779d4112fc8973722f47d61b7aaf5a33820a1c7e0a6945e3a158a", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Books.png", "521fb2edf667de1ffb8abc771b3b7b2b53b82b0927fa10a01295400dbd9e8f0d", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Brushes.png", "ccefd51a25a2e05eb2def5964ce576a3a2b467ba857faaac7a01b08892669f9d", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Bulb.png", "131656bca6d456e1bb8a2bd6fa814c1f58c0deac3c3f7a15b834c15f9b2f205d", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Car.png", "6092913504d4b51c540bb00082775e2d667c08090e1c15639d2395914cbc8905", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Cat.png", "77b346036fa387c9e9fcb6a38b359fc8a675662f64363ebc5b4b4ab1283cec8a", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Chameleon.png", "619e1672599486f9a333ca78877229093f7448b1ea247683df029a6207893f28", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Cocktail.png", "08c60a9b2deef1cb57000ec2d54e437f43067f5b593fe7d3b9eeb7016c0f6058", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Dog.png", "ff0d1599c4021be70d751ed3b3d0937618be6f898b1e84849e0b14f6c33762f4", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Fish.png", "096631b6dce557445d2683059c5b328b36e70c866ed9b318aea790ab282612b9", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Gamepad.png", "45ec0d319176f433cdebf1fb97f0eec0c74bf8fc0fc38790cde39eef0e67eb27", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Owl.png", "3dd131f7b44479fd934abc1098a0e779663c392382f176bb1aa49022fde4c3f3", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Pancakes.png", "eacbed2084e0017a65beedd969f3da26c932d8bf1ed13cc0a03fa720f1f526ee", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Parrot.png", "dab45ab561fe50bfb2711b71970b1ab52a6c3a0297f51a1be16af752beda1fdf", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Pencils.png", "abfaf6141e6677e404fe2600375c18864837a19b56899746a6d1a0a96d95ce89", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Shuttle.png", "faec89b07a09ac0785c972554eaa5a6f877af6221697327bf19db32d3ed99fca", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Soccer.png", "735540e11340a968f36d3b700215b2cd3273b4f2b127f4b55872d3c0337a827f", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Sunflower.png", "9892108b138a3c623ab4cb81175b8e82de9103a93ae7e79a119ff9b965c36640", "CC0 1.0"},
	{plasma, "usr/share/plasma/avatars/photos/Sushi.png", "b528c3376f69b53452f29bb0e7dcd8fc9fa2e302f9ddb8cb0e4183d6f6e04ae6", "CC0 1.0"},
	{palapeli, "usr/share/palapeli/collection/cincinnati-bridge.jpg", "09772d09318b34a5c5edd58ee86ff462bcd2907006f31cc8e0704310f8e9ab60", "public domain"},
	{palapeli, "usr/share/palapeli/collection/citrus-fruits.jpg", "0cbd7154a14789803167c86705130d0358875198231269df168ea26224e70848", "public domain"},
	{palapeli, "usr/share/palapeli/collection/european-honey-bee.jpg", "9d54ae706bddd899c91b2b801d9ca4556a5a9a399b4043f9d539df62a8cb7f27", "public domain"},
	{skimage, "usr/lib/python3/dist-packages/skimage/data/astronaut.png", "88431cd9653ccd539741b555fb0a46b61558b301d4110412b5bc28b5e3ea6cb5", "public domain"},
	{skimage, "usr/lib/python3/dist-packages/skimage/data/camera.png", "b0793d2adda0fa6ae899c03989482bff9a42d3d5690fc7e3648f2795d730c23a", "CC0 1.0"},
	{skimage, "usr/lib/python3/dist-packages/skimage/data/chelsea.png", "596aa1e7cb875eb79f437e310381d26b338a81c2da23439704a73c4651e8c4bb", "CC0 1.0"},
	{skimage, "usr/lib/python3/dist-packages/skimage/data/coffee.png", "cc02f8ca188b167c775a7101b5d767d1e71792cf762c33d6fa15a4599b5a8de7", "CC0 1.0"},
	{scipy, "usr/lib/python3/dist-packages/scipy/misc/face.dat", "9d8b0b4d081313e2b485748c770472e5a95ed1738146883d84c7030493e82886", "public domain"},
	{lomiri, "usr/share/backgrounds/Picture_0B_by_freespace.jpg", "c8c0ab18e48d9e0419fe42881112137f3afafc27dfddc29ec3a6d54c56d225ad", "CC BY 4.0"},
	{lomiri, "usr/share/backgrounds/Picture_1A_by_freespace.jpg", "89e86af38d04daaef975665dc2127e9fa76f0fd68f4eea105a2d0ae3390b010b", "CC BY 4.0"},
	{lomiri, "usr/share/backgrounds/Wine_by_Jakkub_Mede.jpg", "d2e96e6d4da40dd804b3d0ce295e94de04a2d7d9b6785d42cd9d92ba58bced74", "CC BY 4.0"},
	{lomiri, "usr/share/backgrounds/aitzgorri_by_Aitzol_Berasategi.jpg", "66268e7b48f8854d36a28765fac6e23ec1aee251daa6da1f64715f201020ad36", "CC BY 4.0"},
	{lomiri, "usr/share/backgrounds/friends_by_Aitzol_Berasategi.jpg", "cc40e313c74e421edffe3403def413c16878ce14661cce7ec5915baeab35538d", "CC BY 4.0"},
	{lomiri, "usr/share/backgrounds/life_by_Aitzol_Berasategi.jpg", "4c119350ead80201fe256850c3d316309ddfb4bdf10b235ce982dcde0c667c05", "CC BY 4.0"},
	{lomiri, "usr/share/backgrounds/picosdeeuropa_by_Aitzol_Berasategi.jpg", "414d0072b2f6f2c555deafeaef6e45c4fed6fa9ad26eba6560ca8803959cf97a", "CC BY 4.0"},
	{lomiri, "usr/share/backgrounds/seeding_by_Clements_Engelhardt.jpg", "a5634d1ab5e41a3568e92d4a894a500c92b891f9ff734e50bd224d6e185a605f", "CC0 1.0"},
	{lomiri, "usr/share/backgrounds/sunset_by_Aitzol_Berasategi.jpg", "474dab6a4b9f94dc76c29dfe30e9f5db4af0fd2e33fe5d695f8152b371efca18", "CC BY 4.0"},
}

// advice says where the pictures are and how to get them.
func advice() string {
	var packs []pack
	for _, p := range pictures {
		if !slices.Contains(packs, p.in) {
			packs = append(packs, p.in)
		}
	}
	var b strings.Builder
	b.WriteString("The pictures are in these packages of Debian 12:\n\n\tapt-get download")
	for _, p := range packs {
		fmt.Fprintf(&b, " \\\n\t\t%s=%s", p.name, p.version)
	}
	b.WriteString("\n\tfor f in *.deb; do dpkg-deb -x \"$f\" FOLDER; done\n\n")
	b.WriteString("A later version will do where its pictures are the same: SHA-256 decides.\n")
	return b.String()
}

// read returns a picture that lies below a folder. It is refused unless it is the one that was measured.
func (p picture) read(folder string) (image.Image, error) {
	text, err := os.ReadFile(filepath.Join(folder, filepath.FromSlash(p.path)))
	if err != nil {
		return nil, fmt.Errorf("content: %w\n%s", err, advice())
	}
	if sum := sha256.Sum256(text); hex.EncodeToString(sum[:]) != p.sha256 {
		return nil, fmt.Errorf("content: %s is not the one of %s %s; its SHA-256 is %x", p.path, p.in.name, p.in.version, sum)
	}
	img, err := decode(p.path, text)
	if err != nil {
		return nil, fmt.Errorf("content: %s: %w", p.path, err)
	}
	return img, nil
}

func decode(name string, text []byte) (image.Image, error) {
	if path.Ext(name) == ".dat" {
		return raw(text)
	}
	img, _, err := image.Decode(bytes.NewReader(text))
	return img, err
}

// rawWidth and rawHeight are the size of the one picture that is no JPEG or PNG, as scipy.misc.face has it.
const rawWidth, rawHeight = 1024, 768

// raw returns a picture of codes R, G, B, row by row, compressed by bzip2.
func raw(text []byte) (image.Image, error) {
	codes, err := io.ReadAll(io.LimitReader(bzip2.NewReader(bytes.NewReader(text)), 3*rawWidth*rawHeight+1))
	if err != nil {
		return nil, err
	}
	if len(codes) != 3*rawWidth*rawHeight {
		return nil, fmt.Errorf("%d codes, not those of %d x %d pixels", len(codes), rawWidth, rawHeight)
	}
	img := image.NewNRGBA(image.Rect(0, 0, rawWidth, rawHeight))
	for i := range rawWidth * rawHeight {
		copy(img.Pix[4*i:], codes[3*i:3*i+3])
		img.Pix[4*i+3] = 255
	}
	return img, nil
}
