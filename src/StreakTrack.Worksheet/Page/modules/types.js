/**
 * What the server sends, by the names of the record. Types only; checked with the page, not run.
 *
 * @typedef {{ code: string, severity: 'info' | 'warning' | 'error', message: string, advice: string }} Finding
 * @typedef {{ u_px: number, v_px: number, reading_mm: number }} Mark
 * @typedef {[number, number]} Point u and v, in px of the displayed picture; the centre of its top left pixel is (0, 0)
 *
 * @typedef {object} ClipFacts
 * @property {string} name
 * @property {string} sha256
 * @property {number} bytes
 * @property {string} container
 * @property {string} codec
 * @property {string} pixel_format
 * @property {number} bit_depth
 * @property {number} width_px
 * @property {number} height_px
 * @property {number | null} announced_frames
 * @property {number | null} duration_s
 * @property {Finding[]} findings
 * @property {{ count: number, complete: boolean, problem: string | null }} frames
 *
 * @typedef {object} Options
 * @property {string} model
 * @property {number | null} frequency_hz
 * @property {number} frequency_uncertainty_hz
 * @property {number | null} distance_mm
 * @property {number} distance_uncertainty_mm
 * @property {number} time_scale
 * @property {number | null} window_start_s
 * @property {number | null} window_end_s
 * @property {number | null} switch_time_s
 * @property {string} ruler_class
 * @property {'auto' | 'off'} ticks
 * @property {number} threshold_fraction
 * @property {number} band_offset_px
 * @property {number | null} band_half_width_px
 * @property {number[]} excluded_frames
 * @property {Record<string, string>} exclusion_reasons
 *
 * @typedef {object} MarkFit
 * @property {number} residual_px
 * @property {number} residual_mm
 * @property {number} predicted_reading_mm
 * @property {boolean} doubtful
 * @property {number} off_axis_px
 *
 * @typedef {object} Ruler
 * @property {string | null} scale_problem
 * @property {string} [model]
 * @property {number} [mm_per_px]
 * @property {number | null} [residual_rms_mm]
 * @property {number} [relative_uncertainty]
 * @property {MarkFit[]} [marks]
 * @property {[number, number, number, number, number][]} [ticks] reading in mm, place u and v, direction u and v
 * @property {Finding[]} [findings]
 * @property {{ step_mm: number, residual_rms_mm: number, count: number } | null} [found] ticks of the picture that made the scale
 * @property {number} [min_mm]
 * @property {number} [max_mm]
 *
 * @typedef {object} Measured
 * @property {number} frames
 * @property {number | null} usable
 * @property {string} channel
 * @property {number} spot_sigma_px
 * @property {number | null} exposure_periods
 * @property {number} band_offset_px
 * @property {number} band_width_px
 * @property {Point[]} band
 * @property {number} lost_frames
 * @property {string} reader_name
 * @property {Finding[]} findings
 *
 * @typedef {{ stage: string, done: number, total: number | null }} Progress
 *
 * @typedef {object} Streak
 * @property {Progress | null} measuring
 * @property {string | null} measuring_problem
 * @property {boolean} outdated
 * @property {Measured | null} measured
 * @property {{ corners: Point[], offset_px: number, half_width_px: number } | null} search_band
 *
 * @typedef {object} Parameter
 * @property {string} key
 * @property {string} symbol
 * @property {string} label
 * @property {string} value
 * @property {string} interval
 * @property {number} number
 * @property {number | null} standard_uncertainty
 *
 * @typedef {object} Budget
 * @property {string} quantity
 * @property {string} result
 * @property {string} expanded
 * @property {string} coverage_factor
 * @property {string} coverage
 * @property {{ name: string, basis: string, estimate: string, uncertainty: string, type: string, contribution: string, share: string }[]} components
 *
 * @typedef {{ group: string, label: string, tau_s: number | null, uncertainty_s: number | null, point_count: number }} RobustnessRow
 *
 * @typedef {object} Fit
 * @property {string | null} model
 * @property {string} [problem]
 * @property {string} label
 * @property {string} formula
 * @property {string} statement
 * @property {number} points
 * @property {string} reduced_chi_square
 * @property {string} residual_rms
 * @property {[number, number]} window_s
 * @property {Parameter[]} parameters
 * @property {{ model: string, label: string, parameters: number, delta_aicc: string, tau: string }[]} models
 * @property {{ key: string, label: string, relation: string, value: string }[]} quantities
 * @property {Budget[]} budgets
 * @property {RobustnessRow[]} robustness
 *
 * @typedef {object} State
 * @property {number} version
 * @property {number} revision
 * @property {ClipFacts | null} clip
 * @property {number} max_upload_bytes
 * @property {string} work_folder
 * @property {{ name: string, label: string }[]} models
 * @property {Mark[]} marks
 * @property {Options} options
 * @property {Ruler} ruler
 * @property {Streak} streak
 * @property {Fit | null} fit
 * @property {string | null} analysis_problem
 * @property {boolean} is_settling
 * @property {Finding[]} findings
 * @property {string | null} saving_problem
 * @property {boolean} reported
 * @property {string} folder
 *
 * @typedef {object} Curve
 * @property {number[]} time_s
 * @property {number[]} amplitude_mm
 * @property {(number | null)[]} uncertainty_mm
 * @property {number | null} switch_time_s
 * @property {[number, number]} window_s
 * @property {(number | null)[]} residual_mm
 * @property {string[]} use
 *
 * @typedef {object} Series
 * @property {number} version
 * @property {number} revision
 * @property {number[]} frame
 * @property {number[]} time_s
 * @property {(number | null)[]} amplitude_mm
 * @property {(number | null)[]} uncertainty_mm
 * @property {number[]} flags
 * @property {Record<string, string>} words
 * @property {boolean[]} usable
 * @property {Curve | null} fit
 *
 * @typedef {object} Profile
 * @property {number} frame
 * @property {number} time_s
 * @property {number} flags
 * @property {string} flag_words
 * @property {(number | null)[]} light
 * @property {number[]} model
 * @property {{ first_px: number | null, second_px: number | null, first_level: number | null, second_level: number | null }} threshold
 * @property {{ first_px: number | null, second_px: number | null }} ends
 * @property {[number, number] | null} ends_mm
 * @property {Point[]} band
 * @property {Point[]} shown_ends
 */

export {};
