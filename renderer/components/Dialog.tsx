import { type ReactNode, useEffect, useId, useRef } from 'react';

export interface DialogProps {
  readonly title: string;
  readonly onClose: () => void;
  readonly children: ReactNode;
}

/** Modal on the native element: focus is kept inside, Escape closes, focus goes back where it was. */
export function Dialog({ title, onClose, children }: DialogProps) {
  const element = useRef<HTMLDialogElement>(null);
  const titleId = useId();
  useEffect(() => {
    const dialog = element.current;
    dialog?.showModal();
    // The browser would begin at the button that closes it.
    dialog?.querySelector<HTMLElement>('input[type=text], input[type=search], textarea')?.focus();
    return () => dialog?.close();
  }, []);
  return (
    <dialog
      ref={element}
      className="dialog"
      aria-labelledby={titleId}
      onCancel={(event) => {
        event.preventDefault();
        onClose();
      }}
    >
      <header>
        <h2 id={titleId}>{title}</h2>
        <button type="button" className="quiet" onClick={onClose} aria-label="Close dialog">
          ×
        </button>
      </header>
      {children}
    </dialog>
  );
}
