module example.org/plumb

go 1.26.0

require (
	github.com/a-h/templ v0.3.1100
	github.com/andybalholm/brotli v1.2.8
	github.com/chromedp/cdproto v0.159.0
	github.com/chromedp/chromedp v0.23.0
	github.com/lucasb-eyer/go-colorful v1.4.1
	github.com/syumai/workers v0.31.0
)

require (
	github.com/go-json-experiment/json v0.0.0-20260213210345-44df1a37e875 // indirect
	rsc.io/qr v0.2.0
)
