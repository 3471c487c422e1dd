import { SqliteError } from 'better-sqlite3';
import { AppError } from '../errors.ts';

/** Says in a person's words what SQLite refused. An AppError and anything not from SQLite come back as they are. */
export function explainSqliteError(error: unknown, path: string): unknown {
  if (!(error instanceof SqliteError)) return error;
  const { code } = error;
  const details = { file: path, sqlite: code };
  const wrap = (appCode: AppError['code'], message: string) => new AppError(appCode, message, details, error);
  if (code.startsWith('SQLITE_CONSTRAINT_FOREIGNKEY'))
    return wrap('CONFLICT', 'Something the row names is not there, or something still names the row.');
  if (code.startsWith('SQLITE_CONSTRAINT'))
    return wrap('BAD_INPUT', `The project does not take this value (${error.message}).`);
  if (code.startsWith('SQLITE_BUSY') || code.startsWith('SQLITE_LOCKED'))
    return wrap('STORE_LOCKED', `"${path}" is in use by another program. Close it there first.`);
  if (code.startsWith('SQLITE_FULL'))
    return wrap(
      'BAD_INPUT',
      `The disk of "${path}" is full. The change was not saved; the project is as before.`,
    );
  if (code.startsWith('SQLITE_READONLY') || code.startsWith('SQLITE_CANTOPEN'))
    return wrap('BAD_INPUT', `"${path}" or its folder cannot be written to.`);
  if (code.startsWith('SQLITE_IOERR'))
    return wrap('BAD_INPUT', `The disk of "${path}" failed (${code}). The change was not saved.`);
  if (code.startsWith('SQLITE_CORRUPT') || code.startsWith('SQLITE_NOTADB'))
    return wrap('STORE_DAMAGED', `"${path}" is damaged (${error.message}). It was not changed.`);
  return error;
}
