import { Component, type ReactNode } from 'react';

export interface ErrorBoundaryProps {
  readonly what: string;
  readonly children: ReactNode;
}

/** Keeps a fault of one part of the window from taking the rest with it. */
export class ErrorBoundary extends Component<ErrorBoundaryProps, { readonly message: string | null }> {
  override state = { message: null };

  static getDerivedStateFromError(error: unknown): { message: string } {
    return { message: error instanceof Error ? error.message : String(error) };
  }

  override render(): ReactNode {
    if (this.state.message === null) return this.props.children;
    return (
      <div className="notice notice-error" role="alert">
        <p>
          <strong>{this.props.what} cannot be shown.</strong> This is a fault of the program:{' '}
          {this.state.message} Nothing in the project is lost.
        </p>
        <button type="button" onClick={() => this.setState({ message: null })}>
          Try again
        </button>
      </div>
    );
  }
}
