import type { Command } from '../command.ts';
import { checkCommand } from './check.ts';
import { classifyCommand } from './classify.ts';
import { demoCommand } from './demo.ts';
import { exportCommand } from './export.ts';
import { figureCommand } from './figure.ts';
import { importCommand } from './import.ts';
import { newCommand } from './new.ts';
import { nextCommand } from './next.ts';
import { planCommand } from './plan.ts';
import { reduceCommand } from './reduce.ts';
import { reportCommand } from './report.ts';
import { siteCommand } from './site.ts';
import { surfaceCommand } from './surface.ts';

export const commands: readonly Command[] = [
  newCommand,
  importCommand,
  planCommand,
  reduceCommand,
  surfaceCommand,
  classifyCommand,
  nextCommand,
  siteCommand,
  figureCommand,
  reportCommand,
  exportCommand,
  checkCommand,
  demoCommand,
];
