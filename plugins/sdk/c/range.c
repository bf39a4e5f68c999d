/* An analysis in C: how many plots recorded each response, and how far apart the lowest and the
 * highest of them are. In the source tree, on Linux:
 *
 *     cc -std=c11 -shared -fPIC -fvisibility=hidden -I plugins/sdk/include \
 *        -o librange.so plugins/sdk/c/range.c
 *     caneplot plugins trust librange.so
 *
 * (macOS: -o librange.dylib; Windows: range.dll.)
 */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "caneplot_plugin.h"

#define TEXT(literal) { (const uint8_t *)(literal), sizeof(literal) - 1 }

static const char manifest[] =
    "{\"name\": \"range\", \"version\": \"1.0.0\","
    " \"purpose\": \"How many plots recorded each response, and the range they span\","
    " \"needs\": {\"response\": true}, \"gives\": [\"table of ranges\"]}";

/* A text that grows; `broken` once memory ran out. */
typedef struct { char *bytes; size_t len, room; int broken; } text_t;

static void add(text_t *text, const char *format, ...) {
    va_list values;
    va_start(values, format);
    int more = vsnprintf(NULL, 0, format, values);
    va_end(values);
    if (more < 0 || text->broken) { text->broken = 1; return; }
    if (text->len + (size_t)more + 1 > text->room) {
        size_t room = 2 * (text->len + (size_t)more + 1);
        char *bytes = realloc(text->bytes, room);
        if (bytes == NULL) { text->broken = 1; return; }
        text->bytes = bytes;
        text->room = room;
    }
    va_start(values, format);
    vsnprintf(text->bytes + text->len, (size_t)more + 1, format, values);
    va_end(values);
    text->len += (size_t)more;
}

static void add_quoted(text_t *text, const char *name) {
    add(text, "\"");
    for (; *name != '\0'; name++) {
        unsigned char byte = (unsigned char)*name;
        if (byte < 0x20) add(text, "\\u%04x", byte);
        else if (byte == '"' || byte == '\\') add(text, "\\%c", byte);
        else add(text, "%c", byte);
    }
    add(text, "\"");
}

/* Whether row `row`, counted from the start of the buffers, is there. */
static int present(const struct ArrowArray *array, int64_t row) {
    const uint8_t *bits = array->n_buffers > 0 ? array->buffers[0] : NULL;
    return bits == NULL || (bits[row / 8] >> (row % 8) & 1);
}

typedef struct { int64_t plots; double low, high; } range_t;

static range_t range_of(const struct ArrowArray *table, const struct ArrowArray *column) {
    range_t range = { 0, 0.0, 0.0 };
    for (int64_t row = 0; row < table->length; row++) {
        int64_t at = column->offset + table->offset + row;
        if (!present(table, table->offset + row) || !present(column, at)) continue;
        double value = ((const double *)column->buffers[1])[at];
        range.low = range.plots == 0 ? value : fmin(range.low, value);
        range.high = range.plots == 0 ? value : fmax(range.high, value);
        range.plots++;
    }
    return range;
}

static int32_t refused(const caneplot_host_v1_t *host, const char *sentence) {
    text_t json = { NULL, 0, 0, 0 };
    add(&json, "{\"message\": \"%s\"}", sentence);
    if (!json.broken)
        host->refuse(host->ctx, (caneplot_bytes_v1_t){ (const uint8_t *)json.bytes, json.len });
    free(json.bytes);
    return CANEPLOT_REFUSED;
}

static int32_t analyse(const caneplot_host_v1_t *host, const caneplot_request_v1_t *request) {
    const caneplot_table_v1_t *plots = NULL;
    for (uint32_t i = 0; i < request->n_tables; i++)
        if (request->tables[i].name.len == 5 && memcmp(request->tables[i].name.ptr, "plots", 5) == 0)
            plots = &request->tables[i];
    if (plots == NULL) return refused(host, "there is no table of plots");

    /* The responses are the number columns. They come centred, which does not change a range. */
    text_t names = { NULL, 0, 0, 0 }, counts = names, ranges = names, json = names;
    int responses = 0;
    for (int64_t i = 0; i < plots->schema->n_children; i++) {
        if (strcmp(plots->schema->children[i]->format, "g") != 0) continue;
        range_t range = range_of(plots->array, plots->array->children[i]);
        const char *comma = responses++ == 0 ? "" : ", ";
        add(&names, "%s", comma);
        add_quoted(&names, plots->schema->children[i]->name);
        add(&counts, "%s%lld", comma, (long long)range.plots);
        if (range.plots == 0) add(&ranges, "%snull", comma);
        else add(&ranges, "%s%.17g", comma, range.high - range.low);
    }
    if (responses == 0) return refused(host, "the table of plots has no response");

    int broken = names.broken || counts.broken || ranges.broken;
    if (!broken)
        add(&json,
            "{\"schema\": 1, \"sections\": [{\"id\": \"range\", \"title\": \"Range of the plots\","
            " \"tables\": [{\"id\": \"range\", \"title\": \"Range of each response in its own unit\","
            " \"columns\": ["
            "{\"name\": \"Response\", \"cells\": {\"kind\": \"text\", \"values\": [%s]}},"
            "{\"name\": \"Plots\", \"cells\": {\"kind\": \"count\", \"values\": [%s]}},"
            "{\"name\": \"Range\", \"cells\": {\"kind\": \"number\", \"values\": [%s],"
            " \"format\": {\"significant\": 4}}}]}]}]}",
            names.bytes, counts.bytes, ranges.bytes);
    int32_t code = CANEPLOT_OK;
    if (broken || json.broken)
        code = refused(host, "there is not enough memory");
    else
        host->emit(host->ctx, (caneplot_bytes_v1_t){ (const uint8_t *)json.bytes, json.len });
    free(names.bytes);
    free(counts.bytes);
    free(ranges.bytes);
    free(json.bytes);
    return code;
}

static const caneplot_plugin_v1_t plugin = {
    sizeof(caneplot_plugin_v1_t), CANEPLOT_ABI, TEXT(manifest), analyse
};

uint32_t caneplot_abi(void) { return CANEPLOT_ABI; }
const caneplot_plugin_v1_t *caneplot_plugin_v1(void) { return &plugin; }
