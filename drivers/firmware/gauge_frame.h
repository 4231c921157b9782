/* Encoder for the frames of the framed-binary driver, for boards that sample fast.
 *
 * C99, no allocation, no floating point needed, any byte order, no state: call it from the loop
 * that empties the sample buffer. The layout of a frame is in gaugebench/wire/frame.py.
 *
 * A row is one value of every input, sampled together. Count rows from 0 at start-up, also those
 * that could not be sent: the receiver then knows how many are missing.
 */
#ifndef GAUGE_FRAME_H
#define GAUGE_FRAME_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

enum gauge_type { GAUGE_INT16 = 1, GAUGE_INT24 = 2, GAUGE_FLOAT32 = 3 };

#define GAUGE_FRAME_MAX 4096u /* the longest frame that a receiver takes, without its end */

struct gauge_rows {
    enum gauge_type type;
    uint32_t first_row; /* number of the first row, rolls over */
    uint32_t time_us;   /* time of the first row, rolls over */
    uint32_t step_ns;   /* time from one row to the next */
    uint8_t rows;       /* 1 to 255 */
    uint8_t columns;    /* 1 to 64 */
    const void *values; /* int16_t, int32_t (for GAUGE_INT24) or float; row after row */
};

/* Bytes that a frame may need in `out`, its end included. */
size_t gauge_frame_room(enum gauge_type type, uint8_t rows, uint8_t columns);

/* Write a frame of samples; returns its length, or 0 where it does not fit or makes no sense. */
size_t gauge_frame_rows(uint8_t *out, size_t room, const struct gauge_rows *frame);

/* Write the frame to send once at start-up, with at most 64 bytes of name; length or 0. */
size_t gauge_frame_hello(uint8_t *out, size_t room, const char *name);

#ifdef __cplusplus
}
#endif
#endif
