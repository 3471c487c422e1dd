import { serveJobs } from '../../../core/jobs/serve.ts';
import { trialJobs } from './trial-jobs.ts';

serveJobs(trialJobs);
