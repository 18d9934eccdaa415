import type { Report } from '../types.ts';

/** The machine-readable form of some reports: what `assess --json` prints and the page exports. Units are SI, percent and dB. */
export function assessmentsJson(title: string, reports: readonly Report[]): object {
  return {
    format: 'stagefit-assessments',
    version: 1,
    title,
    assessments: reports.map((report) => ({
      socket: report.socket.id,
      stage: report.socket.stage,
      tube: report.tube.id,
      type: report.tube.type,
      section: report.tube.section,
      companions: report.companions,
      line: report.line ?? null,
      verdict: report.verdict,
      decidedBy: report.decidedBy,
      circuitFault: report.circuitFault,
      howSure: report.howSure ?? null,
      measures: report.measures,
      wear: report.wear,
      paths: report.paths,
      notJudged: report.notJudged,
      wouldChange: report.wouldChange,
      warnings: report.warnings,
      method: report.method,
      engine: report.engine,
      seed: report.seed,
      draws: report.draws,
    })),
  };
}
