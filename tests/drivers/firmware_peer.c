/* Sends a hello and rows of a known pattern to the file named: what a board would do.
 * Use: firmware_peer FILE TYPE COLUMNS ROWS_A_FRAME FRAMES STEP_NS */
#include "gauge_frame.h"

#include <stdio.h>
#include <stdlib.h>

static int32_t pattern(uint32_t row, uint32_t column)
{
    return (int32_t)((row * 37u + column * 1009u) % 65536u) - 32768;
}

int main(int argc, char **argv)
{
    static uint8_t out[GAUGE_FRAME_MAX + 1];
    static int16_t small[255 * 64];
    static int32_t wide[255 * 64];
    static float real[255 * 64];
    struct gauge_rows f;
    unsigned frame, frames, i;
    size_t length;
    FILE *file;
    if (argc != 7 || (file = fopen(argv[1], "wb")) == NULL)
        return 2;
    f.type = (enum gauge_type)atoi(argv[2]);
    f.columns = (uint8_t)atoi(argv[3]);
    f.rows = (uint8_t)atoi(argv[4]);
    frames = (unsigned)atoi(argv[5]);
    f.step_ns = (uint32_t)atoi(argv[6]);
    f.values = f.type == GAUGE_INT16 ? (void *)small : f.type == GAUGE_INT24 ? (void *)wide : (void *)real;
    length = gauge_frame_hello(out, sizeof out, "pattern board");
    if (length == 0 || fwrite(out, 1, length, file) != length)
        return 3;
    for (frame = 0; frame < frames; frame++) {
        f.first_row = frame * f.rows;
        f.time_us = (uint32_t)((uint64_t)f.first_row * f.step_ns / 1000u);
        for (i = 0; i < (unsigned)f.rows * f.columns; i++) {
            int32_t value = pattern(f.first_row + i / f.columns, i % f.columns);
            small[i] = (int16_t)value;
            wide[i] = value * 100;
            real[i] = (float)value / 8.0f;
        }
        length = gauge_frame_rows(out, sizeof out, &f);
        if (length == 0 || length > gauge_frame_room(f.type, f.rows, f.columns)
            || fwrite(out, 1, length, file) != length)
            return 4;
    }
    /* What does not fit must be refused, not written beyond its room. */
    for (i = 0; i < length; i++)
        if (gauge_frame_rows(out, i, &f) != 0)
            return 5;
    return fclose(file) == 0 ? 0 : 6;
}
