// Package browse starts a Chromium, and a server of the site, for what is tested or measured in them.
package browse

import (
	"context"
	"fmt"
	"os"
	"slices"

	"github.com/chromedp/chromedp"
)

// Alone leaves out, beside what chromedp does, what drops down from Chromium's field of addresses: pages of their own in a process of their own, which nobody sees here.
var Alone = chromedp.Flag("disable-features", "Translate,BlinkGenPropertyTrees,WebUIOmniboxPopup,WebUIOmniboxAimPopup")

// Start starts a browser, by its path or name, that reaches nothing beyond this computer, and returns the context of its first tab. Its data are new, and gone when it is stopped.
func Start(ctx context.Context, browser string, options ...chromedp.ExecAllocatorOption) (tab context.Context, stop func(), err error) {
	all := slices.Concat(chromedp.DefaultExecAllocatorOptions[:], []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(browser),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"),
		Alone,
	}, options)
	if os.Getuid() == 0 {
		all = append(all, chromedp.NoSandbox) // Chromium refuses to run as root otherwise
	}
	ctx, end := chromedp.NewExecAllocator(ctx, all...)
	tab, shut := chromedp.NewContext(ctx)
	stop = func() {
		shut()
		end()
	}
	if err := chromedp.Do(tab); err != nil {
		stop()
		return nil, nil, fmt.Errorf("browse: %w", err)
	}
	return tab, stop, nil
}
