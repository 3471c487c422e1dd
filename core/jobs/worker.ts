/** Entry of the worker threads. */
import { jobs } from './registry.ts';
import { serveJobs } from './serve.ts';

serveJobs(jobs);
