import type { ReactNode } from 'react';

export interface ScrollRegionProps {
  readonly label: string;
  readonly className?: string;
  readonly children: ReactNode;
}

/** A table that may be wider or longer than its place. It takes the focus, so that arrow keys can scroll it. */
export function ScrollRegion({ label, className, children }: ScrollRegionProps) {
  return (
    <section
      className={className === undefined ? 'table-scroll' : `table-scroll ${className}`}
      aria-label={label}
      // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reached by keyboard (WCAG 2.1.1)
      tabIndex={0}
    >
      {children}
    </section>
  );
}
