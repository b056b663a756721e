//go:build js

package browser

import (
	"slices"
	"syscall/js"
	"testing"
	"time"

	"example.org/plumb/web/mailbox/client"
	"example.org/plumb/web/seal"
)

// bare is what a page without this program would do: read a chunk of a Blob, encrypt or decrypt it by Web Crypto, and hand it on.
const bare = `({
	key: (raw) => crypto.subtle.importKey("raw", raw, "AES-GCM", false, ["encrypt", "decrypt"]),
	nonce: (i) => { const n = new Uint8Array(12); new DataView(n.buffer).setUint32(7, i); return n; },
	async encrypt(key, buffers, additionalData) {
		for (const [i, b] of buffers.entries()) await crypto.subtle.encrypt({ name: "AES-GCM", iv: this.nonce(i), additionalData }, key, b);
	},
	async seal(key, blob, size, additionalData, hand) {
		for (let at = 0, i = 0; at < blob.size; at += size, i++) {
			const plain = await blob.slice(at, at + size).arrayBuffer();
			const sealed = await crypto.subtle.encrypt({ name: "AES-GCM", iv: this.nonce(i), additionalData }, key, plain);
			const chunk = new Uint8Array(6 + sealed.byteLength);
			chunk.set(new Uint8Array(sealed), 6);
			if (hand) await fetch("/sink", { method: "POST", body: chunk });
		}
	},
	async open(key, chunks, additionalData) {
		const parts = [];
		for (const [i, c] of chunks.entries()) {
			parts.push(new Blob([await crypto.subtle.decrypt({ name: "AES-GCM", iv: c.iv, additionalData }, key, c.bytes.subarray(6))]));
		}
		return new Blob(parts);
	},
})`

const pieces = 8

// Sealing and opening by this program against bare Web Crypto on the same bytes, by turns in one run: MB/s each, and how many times as fast the program is.
func BenchmarkParcels(b *testing.B) {
	page(b)
	theirs := global.Call("eval", bare)
	data := noiseOf(pieces * seal.ChunkSize)
	blob := blobOf(data, "image/png")
	k, name := seal.NewKey(), seal.Parcel(random16())
	c := NewCipher(k).(Cipher)
	key, err := await(theirs.Call("key", array(k[:])))
	if err != nil {
		b.Fatal(err)
	}
	additional := array(seal.Additional(name))
	buffers, sealed := []any{}, []any{}
	s := &sealer{cipher: c, name: name, blob: blob}
	var bodies []*outside
	for i := range pieces {
		buffer, err := contents(blob.Call("slice", i*seal.ChunkSize, (i+1)*seal.ChunkSize))
		if err != nil {
			b.Fatal(err)
		}
		buffers = append(buffers, buffer)
		body, err := s.Seal(b.Context(), i, i == pieces-1, int64(i)*seal.ChunkSize, seal.ChunkSize)
		if err != nil {
			b.Fatal(err)
		}
		n := seal.Nonce(i, i == pieces-1)
		bodies = append(bodies, body.(*outside))
		sealed = append(sealed, map[string]any{"iv": array(n[:]), "bytes": body.(*outside).bytes})
	}
	wait := func(p js.Value) {
		if _, err := await(p); err != nil {
			b.Fatal(err)
		}
	}
	sealAll := func(hand func(*outside)) {
		s := &sealer{cipher: c, name: name, blob: blob}
		for i := range pieces {
			body, err := s.Seal(b.Context(), i, i == pieces-1, int64(i)*seal.ChunkSize, seal.ChunkSize)
			if err != nil {
				b.Fatal(err)
			}
			hand(body.(*outside))
		}
		s.drop()
	}
	for _, m := range []struct {
		name         string
		ours, theirs func()
	}{
		{"seal, to encrypting alone", func() { sealAll(func(o *outside) { o.Close() }) }, func() { wait(theirs.Call("encrypt", key, buffers, additional)) }},
		{"seal", func() { sealAll(func(o *outside) { o.Close() }) }, func() { wait(theirs.Call("seal", key, blob, seal.ChunkSize, additional, false)) }},
		{"seal and send", func() {
			sealAll(func(o *outside) {
				a, err := Fetch{}.Do(b.Context(), client.Request{Method: "POST", Path: "/sink", Body: o, Size: o.Size()})
				if err != nil || a.Status != 200 {
					b.Fatal(err)
				}
				a.Body.Close()
				o.Close()
			})
		}, func() { wait(theirs.Call("seal", key, blob, seal.ChunkSize, additional, true)) }},
		{"open", func() {
			begun := begin(c, name)
			for _, o := range bodies {
				if _, err := begun.opener.Open(b.Context(), o, o.Size()); err != nil {
					b.Fatal(err)
				}
			}
			if whole := global.Get("Blob").New(begun.parts()); length(whole) != int64(len(data)) {
				b.Fatal("not whole")
			}
		}, func() { wait(theirs.Call("open", key, sealed, additional)) }},
		{"seal by Go", func() {
			for i := range pieces {
				if _, err := k.SealChunk(name, i, i == pieces-1, data[i*seal.ChunkSize:(i+1)*seal.ChunkSize]); err != nil {
					b.Fatal(err)
				}
			}
		}, func() { wait(theirs.Call("seal", key, blob, seal.ChunkSize, additional, false)) }},
		{"seal in the program", func() {
			for i := range pieces {
				if _, err := seal.SealChunk(c, name, i, i == pieces-1, data[i*seal.ChunkSize:(i+1)*seal.ChunkSize]); err != nil {
					b.Fatal(err)
				}
			}
		}, func() { wait(theirs.Call("seal", key, blob, seal.ChunkSize, additional, false)) }},
	} {
		b.Run(m.name, func(b *testing.B) {
			var ours, bare []float64
			once := func(f func()) float64 {
				start := global.Get("performance").Call("now").Float()
				f()
				return global.Get("performance").Call("now").Float() - start
			}
			for n := 0; b.Loop(); n++ {
				// Each is first every other time.
				if n%2 == 0 {
					ours, bare = append(ours, once(m.ours)), append(bare, once(m.theirs))
				} else {
					bare, ours = append(bare, once(m.theirs)), append(ours, once(m.ours))
				}
				time.Sleep(0)
			}
			mid := func(l []float64) float64 { slices.Sort(l); return l[len(l)/2] }
			mb := float64(len(data)) / 1e6
			b.ReportMetric(mb/(mid(ours)/1000), "MB/s")
			b.ReportMetric(mb/(mid(bare)/1000), "bare-MB/s")
			b.ReportMetric(mid(bare)/mid(ours), "times")
		})
	}
}
