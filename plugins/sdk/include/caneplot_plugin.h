/* The contract between caneplot and an analysis plugin, version 1.0.
 *
 * A plugin is a shared library that exports two functions:
 *
 *     uint32_t                    caneplot_abi(void);        returns CANEPLOT_ABI
 *     const caneplot_plugin_v1_t *caneplot_plugin_v1(void);  returns a static table
 *
 * Nothing changes hands. The plugin borrows all it is given until `analyse` returns: it keeps no
 * pointer and releases nothing. The program copies all it is told inside the callback.
 *
 * Texts are UTF-8 and not closed by a zero. Tables are Arrow C data
 * (https://arrow.apache.org/docs/format/CDataInterface.html): one struct array ("+s") in one piece,
 * whose columns are float64 "g", int64 "l", bool "b" (a bitmap) or large UTF-8 "U" (int64 offsets)
 * and nothing else. `offset` and the validity bitmap must be honoured, in the table and in the
 * column; with no rows the buffers may be NULL. Row i of a column is at
 * column->offset + table->offset + i. No number is NaN or infinite: "not recorded" is null.
 *
 * A later 1.x may add members at the end of caneplot_host_v1_t and caneplot_request_v1_t: look at
 * struct_size before reading a member that this header does not have. Everything else grows in the
 * JSON: ignore members you do not know. plugins/sdk/README.md describes the JSON.
 */
#ifndef CANEPLOT_PLUGIN_H
#define CANEPLOT_PLUGIN_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define CANEPLOT_ABI 0x00010000u /* (major << 16) | minor */

#if defined(_WIN32)
#define CANEPLOT_EXPORT __declspec(dllexport)
#else
#define CANEPLOT_EXPORT __attribute__((visibility("default")))
#endif

#ifndef ARROW_C_DATA_INTERFACE
#define ARROW_C_DATA_INTERFACE
struct ArrowSchema {
    const char *format;
    const char *name;
    const char *metadata;
    int64_t flags;
    int64_t n_children;
    struct ArrowSchema **children;
    struct ArrowSchema *dictionary;
    void (*release)(struct ArrowSchema *);
    void *private_data;
};
struct ArrowArray {
    int64_t length;
    int64_t null_count;
    int64_t offset;
    int64_t n_buffers;
    int64_t n_children;
    const void **buffers;
    struct ArrowArray **children;
    struct ArrowArray *dictionary;
    void (*release)(struct ArrowArray *);
    void *private_data;
};
#endif

typedef struct caneplot_bytes_v1 {
    const uint8_t *ptr; /* may be NULL where len is 0 */
    size_t len;
} caneplot_bytes_v1_t;

typedef struct caneplot_table_v1 {
    caneplot_bytes_v1_t name; /* "plots" or "vines" */
    const struct ArrowSchema *schema;
    const struct ArrowArray *array;
} caneplot_table_v1_t;

typedef struct caneplot_request_v1 {
    uint32_t struct_size;
    uint32_t n_tables;
    caneplot_bytes_v1_t analysis;
    caneplot_bytes_v1_t options_json; /* an object; complete, defaults filled in */
    caneplot_bytes_v1_t trial_json;   /* an object: design, factors, responses ... */
    uint64_t seed;
    const caneplot_table_v1_t *tables;
} caneplot_request_v1_t;

enum { CANEPLOT_NOTE = 0, CANEPLOT_WARNING = 1 }; /* levels of log */

typedef struct caneplot_host_v1 {
    uint32_t struct_size;
    uint32_t abi;
    void *ctx;                                                    /* hand back to each callback */
    void (*emit)(void *ctx, caneplot_bytes_v1_t findings_json);   /* once */
    void (*refuse)(void *ctx, caneplot_bytes_v1_t refusal_json);  /* {"message": "...", "hint": "..."} */
    void (*progress)(void *ctx, double fraction);                 /* from 0 to 1 */
    void (*log)(void *ctx, uint32_t level, caneplot_bytes_v1_t text);
} caneplot_host_v1_t; /* call these only from the thread that runs analyse */

enum {
    CANEPLOT_OK = 0,       /* emit was called */
    CANEPLOT_REFUSED = 1,  /* refuse was called with a sentence for the user */
    CANEPLOT_PANICKED = 2  /* a mistake in the plugin itself; refuse was called with what is known */
};

typedef struct caneplot_plugin_v1 {
    uint32_t struct_size;
    uint32_t abi;
    caneplot_bytes_v1_t manifest_json;
    int32_t (*analyse)(const caneplot_host_v1_t *host, const caneplot_request_v1_t *request);
} caneplot_plugin_v1_t;

CANEPLOT_EXPORT uint32_t caneplot_abi(void);
CANEPLOT_EXPORT const caneplot_plugin_v1_t *caneplot_plugin_v1(void);

#ifdef __cplusplus
}
#endif
#endif
