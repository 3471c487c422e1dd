import type { ReactNode } from 'react';

export interface TableScrollProps {
  readonly label: string;
  readonly className?: string;
  readonly children: ReactNode;
}

/** A table that may be larger than its place; it takes the focus, so that the arrow keys can scroll it. */
export function TableScroll({ label, className = '', children }: TableScrollProps) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className={`table-scroll ${className}`} aria-label={label} tabIndex={0}>
      {children}
    </section>
  );
}
