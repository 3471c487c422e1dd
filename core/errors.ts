/** Every failure a person can meet, by kind; the wire carries it as code, message and details. */
export type ErrorCode =
  | 'BAD_INPUT' // a file, row, field or argument that cannot be used as it is
  | 'BAD_USAGE' // a command called wrongly
  | 'NOT_FOUND'
  | 'STORE_LOCKED' // another window or process holds the project
  | 'STORE_NEWER' // written by a newer version
  | 'STORE_DAMAGED'
  | 'STORE_FOREIGN' // not a project file at all
  | 'CONFLICT' // the project changed under the request
  | 'SINGULAR' // the numbers asked for do not exist
  | 'CANCELLED'
  | 'INTERNAL';

/** Where in the user's own material the trouble is. */
export interface ErrorDetails {
  readonly file?: string;
  /** 1-based line of the file as an editor shows it. */
  readonly row?: number;
  readonly field?: string;
  readonly [key: string]: unknown;
}

export class AppError extends Error {
  readonly code: ErrorCode;
  readonly details: ErrorDetails;

  /** @param message states the problem, the value and where; it is shown to a person as it is */
  constructor(code: ErrorCode, message: string, details: ErrorDetails = {}, cause?: unknown) {
    super(message, cause === undefined ? undefined : { cause });
    this.name = 'AppError';
    this.code = code;
    this.details = details;
  }
}

export interface WireError {
  readonly code: ErrorCode;
  readonly message: string;
  readonly details: ErrorDetails;
}

/** Turns anything thrown into what may cross a process border. Our own bugs keep their stack in details. */
export function toWire(error: unknown): WireError {
  if (error instanceof AppError) return { code: error.code, message: error.message, details: error.details };
  const text = error instanceof Error ? error.message : String(error);
  const stack = error instanceof Error ? error.stack : undefined;
  return {
    code: 'INTERNAL',
    message: `Internal error: ${text}`,
    details: stack === undefined ? {} : { stack },
  };
}

export function fromWire(wire: WireError): AppError {
  return new AppError(wire.code, wire.message, wire.details);
}
