import type { ReactNode } from 'react';

/** The scrolling part of a panel; it takes the focus, so that the keyboard can scroll text without controls. */
export function PanelScroll({ children }: { children: ReactNode }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <div className="panel-scroll" tabIndex={0}>
      {children}
    </div>
  );
}
