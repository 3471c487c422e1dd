import { useState } from 'react';

export interface PagePagerProps {
  readonly url: string | null;
  readonly alt: string;
  readonly shownPage: number;
  readonly pageCount: number;
  readonly onPage: (page: number) => void;
}

/** A page as it will be printed, smaller or larger, and the way to the others. */
export function PagePager({ url, alt, shownPage, pageCount, onPage }: PagePagerProps) {
  const [large, setLarge] = useState(false);
  return (
    <>
      {url ? (
        <button
          type="button"
          className={`preview-frame ${large ? 'preview-large' : ''}`}
          aria-label={large ? 'Show the preview smaller' : 'Show the preview larger'}
          onClick={() => setLarge(!large)}
        >
          <img src={url} alt={alt} />
        </button>
      ) : null}
      {pageCount > 1 ? (
        <div className="pager">
          <button type="button" disabled={shownPage === 0} onClick={() => onPage(shownPage - 1)}>
            Page before
          </button>
          <p>
            Page {shownPage + 1} of {pageCount}
          </p>
          <button type="button" disabled={shownPage + 1 >= pageCount} onClick={() => onPage(shownPage + 1)}>
            Next page
          </button>
        </div>
      ) : null}
    </>
  );
}
