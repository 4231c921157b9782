#include "gauge_frame.h"

#include <string.h>

#define HEAD 16u
#define CRC 2u
#define NAME_MAX_BYTES 64u

/* Byte stuffing and check sum are done as bytes are put, so that no second buffer is needed. */
struct writer {
    uint8_t *out;
    size_t room, at, code_at;
    uint8_t code;
    uint16_t crc;
    int full;
};

static void raw(struct writer *w, uint8_t byte)
{
    if (w->at < w->room)
        w->out[w->at++] = byte;
    else
        w->full = 1;
}

static void close_block(struct writer *w)
{
    w->out[w->code_at] = w->code;
    w->code_at = w->at;
    w->code = 1;
    raw(w, 0); /* place of the next code */
}

static void stuff(struct writer *w, uint8_t byte)
{
    if (w->full)
        return;
    if (w->code == 0xFF) /* a full block is closed only when more follows */
        close_block(w);
    if (w->full)
        return;
    if (byte == 0) {
        close_block(w);
    } else {
        raw(w, byte);
        w->code++;
    }
}

static void put(struct writer *w, uint8_t byte)
{
    unsigned bit, crc = (unsigned)w->crc ^ ((unsigned)byte << 8);
    for (bit = 0; bit < 8; bit++)
        crc = ((crc << 1) ^ ((crc & 0x8000u) ? 0x1021u : 0u)) & 0xFFFFu;
    w->crc = (uint16_t)crc;
    stuff(w, byte);
}

static void put_little(struct writer *w, uint32_t value, unsigned bytes)
{
    while (bytes--) {
        put(w, (uint8_t)(value & 0xFFu));
        value >>= 8;
    }
}

static int begin(struct writer *w, uint8_t *out, size_t room)
{
    if (out == NULL || room < 1)
        return 0;
    w->out = out;
    w->room = room;
    w->at = 1;
    w->code_at = 0;
    w->code = 1;
    w->crc = 0xFFFF;
    w->full = 0;
    return 1;
}

static size_t end(struct writer *w)
{
    uint16_t crc = w->crc;
    stuff(w, (uint8_t)(crc & 0xFFu));
    stuff(w, (uint8_t)(crc >> 8));
    if (w->full)
        return 0;
    w->out[w->code_at] = w->code;
    if (w->at > GAUGE_FRAME_MAX)
        return 0;
    raw(w, 0);
    return w->full ? 0 : w->at;
}

static size_t size_of(enum gauge_type type)
{
    switch (type) {
    case GAUGE_INT16:
        return 2;
    case GAUGE_INT24:
        return 3;
    case GAUGE_FLOAT32:
        return 4;
    }
    return 0;
}

size_t gauge_frame_room(enum gauge_type type, uint8_t rows, uint8_t columns)
{
    size_t body = HEAD + (size_t)rows * columns * size_of(type) + CRC;
    return body + body / 254 + 2;
}

size_t gauge_frame_rows(uint8_t *out, size_t room, const struct gauge_rows *f)
{
    struct writer w;
    size_t i, count;
    if (f == NULL || f->values == NULL || f->rows == 0 || f->columns == 0 || f->columns > 64
        || size_of(f->type) == 0 || !begin(&w, out, room))
        return 0;
    put(&w, 1);
    put(&w, (uint8_t)f->type);
    put_little(&w, f->first_row, 4);
    put_little(&w, f->time_us, 4);
    put_little(&w, f->step_ns, 4);
    put(&w, f->rows);
    put(&w, f->columns);
    count = (size_t)f->rows * f->columns;
    for (i = 0; i < count; i++) {
        if (f->type == GAUGE_INT16) {
            put_little(&w, (uint16_t)((const int16_t *)f->values)[i], 2);
        } else if (f->type == GAUGE_INT24) {
            put_little(&w, (uint32_t)((const int32_t *)f->values)[i], 3);
        } else {
            uint32_t bits;
            memcpy(&bits, (const unsigned char *)f->values + 4 * i, 4);
            put_little(&w, bits, 4);
        }
    }
    return end(&w);
}

size_t gauge_frame_hello(uint8_t *out, size_t room, const char *name)
{
    struct writer w;
    size_t i;
    if (name == NULL || !begin(&w, out, room))
        return 0;
    put(&w, 2);
    put(&w, 0);
    for (i = 0; i < NAME_MAX_BYTES && name[i] != '\0'; i++)
        put(&w, (uint8_t)name[i]);
    return end(&w);
}
